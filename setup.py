"""Which packages the wheel holds. Everything else is in pyproject.toml.

The station profiles stand at the top of the repository, where people look for them, and go into the
package ``qc.outlets``: a list that finds packages by itself cannot say that.
"""

from setuptools import find_namespace_packages, setup

PROFILES = "qc.outlets.station_profiles"

setup(
    packages=[
        *find_namespace_packages(include=["qc", "qc.*"], exclude=["*.__pycache__", "*.__pycache__.*"]),
        *(PROFILES, f"{PROFILES}.base", f"{PROFILES}.mini"),
    ]
)
