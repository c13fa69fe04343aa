"""``python -m qc``: the same as the command ``qc``."""

from qc.cli.app import main

main()
