# Needs python3 (3.11 or newer), make and sh; no compiler. Everything is installed into .venv, nothing elsewhere.
#
#   make demo     render the demo episodes, check them, write reports/, say where to look
#   make test     style, types and tests; brings a chromium for the tests of the pages where it can (Debian, root)
#   make check    what CI runs (the same as make test)
#   make bench    cost of a whole check against a bare decode of the same file
#   make fuzz     the long run of damaged files
#   make clean    remove everything made here
#
# Another Python: make PYTHON=python3.12 demo

PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
READY := $(VENV)/ready
PIP := $(BIN)/python -m pip install --quiet --disable-pip-version-check --no-compile --no-deps
# Modules are compiled once, not at every start, whatever the environment says.
export PYTHONDONTWRITEBYTECODE :=
.DEFAULT_GOAL := help
.PHONY: help demo test check browser bench fuzz clean

help:
	@echo "make demo | test | check | bench | fuzz | clean   (the first lines of the Makefile say what each does)"

$(READY): requirements.txt pyproject.toml setup.py
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' || { \
	  echo "Airworthy needs Python 3.11 or newer; '$(PYTHON)' is missing or older. Try: make PYTHON=python3.12 ..." >&2; exit 1; }
	@$(PYTHON) -c 'import ensurepip, venv' || { \
	  echo "This Python cannot make a virtual environment. On Debian and its relatives: install python3-venv." >&2; exit 1; }
	$(PYTHON) -m venv --clear $(VENV)
	@$(BIN)/python -c 'import re; print(re.search(r"^setuptools==(.*\\\n)+.*", open("requirements.txt").read(), re.M)[0])' > $(VENV)/setuptools.txt
	$(PIP) --require-hashes -r $(VENV)/setuptools.txt
	$(PIP) --require-hashes --no-build-isolation -r requirements.txt
	$(PIP) --no-build-isolation -e .
	@: > $(READY)

demo: $(READY)
	$(BIN)/qc demo

test: $(READY) browser
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy
	$(BIN)/python -m pytest -n 2

check: test

# Pages are tested in a real Chromium: brought here where a package manager can, else said how. Never fails by itself;
# without it those tests are skipped, in CI they fail.
browser:
	@for name in "$$AIRWORTHY_CHROMIUM" chromium chromium-browser google-chrome; do \
	  if [ -n "$$name" ] && command -v "$$name" >/dev/null 2>&1; then exit 0; fi; \
	done; \
	bring() { DEBIAN_FRONTEND=noninteractive apt-get install -qq -y --no-install-recommends chromium >/dev/null 2>&1; }; \
	if [ "$$(id -u)" = 0 ] && command -v apt-get >/dev/null 2>&1; then \
	  echo "Installing chromium for the tests of the pages"; \
	  if bring || { apt-get update -qq >/dev/null 2>&1 && bring; }; then exit 0; fi; \
	fi; \
	echo "No chromium here: tests of the pages need one (apt-get install chromium, or AIRWORTHY_CHROMIUM=/path/to/chrome)."

bench: $(READY)
	$(BIN)/python benchmarks/run.py

fuzz: $(READY)
	$(BIN)/python -m pytest -n 2 -m slow tests/hostile

clean:
	$(PYTHON) -c 'import pathlib, shutil; [shutil.rmtree(p, True) for p in (*map(pathlib.Path, "$(VENV) build dist .pytest_cache .hypothesis .ruff_cache .mypy_cache".split()), *pathlib.Path().glob("*.egg-info"))]; [shutil.rmtree(p, True) if p.is_dir() else p.unlink() for p in pathlib.Path("reports").glob("*") if p.name not in ("README.md", "example.png")]'
