"""See that the system libraries behind the gmsh and VTK wheels are there; install them if we may.

The wheels load eight shared libraries of the system when they are imported, and a virtual
environment needs pip's bootstrap. On a bare Debian or Ubuntu none of them is there, and without
libegl1 rendering does not raise: it ends the process. So each is looked for by loading it. What
is missing is installed where we are root and have apt-get; elsewhere one line says what to do.

Runs before anything is installed: standard library only.
"""

import ctypes
import importlib.util
import os
import shutil
import subprocess
import sys

LIBRARIES = {
    "libGL.so.1": "libgl1",
    "libEGL.so.1": "libegl1",
    "libGLU.so.1": "libglu1-mesa",
    "libgomp.so.1": "libgomp1",
    "libXrender.so.1": "libxrender1",
    "libXcursor.so.1": "libxcursor1",
    "libXft.so.2": "libxft2",
    "libXinerama.so.1": "libxinerama1",
}


def loads(library: str) -> bool:
    """Say whether the system's loader finds a shared library, by loading it."""
    try:
        ctypes.CDLL(library)
    except OSError:
        return False
    return True


def missing_packages() -> list[str]:
    """Name the Debian packages of all that this Python cannot load."""
    packages = [package for library, package in LIBRARIES.items() if not loads(library)]
    if importlib.util.find_spec("ensurepip") is None:
        packages.append(f"python{sys.version_info.major}.{sys.version_info.minor}-venv")
    return packages


def install(packages: list[str]) -> str | None:
    """Install packages with apt-get; return the last line it said if it could not."""
    environment = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    for command in (
        ["apt-get", "update"],
        ["apt-get", "install", "--yes", "--no-install-recommends", *packages],
    ):
        done = subprocess.run(command, env=environment, capture_output=True, text=True)
        if done.returncode:
            return (done.stderr.strip() or done.stdout.strip()).splitlines()[-1]
    return None


def main() -> int:
    """Check, install if we may, and say in one line what is left to do."""
    if not sys.platform.startswith("linux"):
        return 0
    packages = missing_packages()
    if not packages:
        return 0
    wanted = " ".join(packages)
    if os.geteuid() != 0 or shutil.which("apt-get") is None:
        print(f"System libraries are missing. Install: apt-get install {wanted}", file=sys.stderr)
        return 1
    print(f"Installing system libraries: {wanted}", flush=True)
    failure = install(packages)
    if failure:
        print(f"apt-get install {wanted} failed: {failure}", file=sys.stderr)
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
