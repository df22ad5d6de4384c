"""Versions of the project and of the libraries that its numbers stand on."""

from __future__ import annotations

import platform
from importlib.metadata import PackageNotFoundError, version

LIBRARIES = (
    "hullring",
    "cvxopt",
    "gmsh",
    "gsw",
    "jinja2",
    "matplotlib",
    "numpy",
    "pandas",
    "pint",
    "pydantic",
    "pyvista",
    "scikit-fem",
    "scipy",
    "snakemake",
    "vtk",
)


def library_versions() -> dict[str, str]:
    """Version by name, of Python and of every library that is installed, in order of name."""
    found = {"python": platform.python_version()}
    for name in LIBRARIES:
        try:
            found[name] = version(name)
        except PackageNotFoundError:
            continue  # an optional library that is not there took no part
    return found
