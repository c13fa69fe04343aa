from qc.outlets.expected import Finder
from qc.outlets.problems import Problem
from qc.outlets.schema import Profile


def contradictions(profile: Profile, finder: Finder) -> list[Problem]:
    return []
