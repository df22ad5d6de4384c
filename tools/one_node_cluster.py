"""A Slurm cluster of one node on this machine, without systemd, for as long as it is wanted.

munged, slurmctld and slurmd run as children, on the loopback address, with all their files in a
folder of the caller's, to which /etc/slurm/slurm.conf points meanwhile. Wants root, as slurmd does,
and installs Debian's slurm-wlm and munge where they are missing.
"""

from __future__ import annotations

import os
import platform
import re
import shutil
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from system_libraries import install

CONTROL_PORT, NODE_PORT = 16817, 16818
# Where Slurm's commands look by themselves: a job step does not inherit SLURM_CONF.
DEBIANS_PLACE = Path("/etc/slurm/slurm.conf")
DAEMONS = {"munged": "munge", "slurmctld": "slurm-wlm", "slurmd": "slurm-wlm"}

CONFIGURATION = """\
ClusterName=one
SlurmctldHost={host}(127.0.0.1)
SlurmUser=root
AuthType=auth/munge
CredType=cred/munge
AuthInfo=socket={folder}/munge.socket
CommunicationParameters=NoInAddrAny,NoCtldInAddrAny
SlurmctldPort={control_port}
SlurmdPort={node_port}
StateSaveLocation={folder}/state
SlurmdSpoolDir={folder}/spool
SlurmctldPidFile={folder}/slurmctld.pid
SlurmdPidFile={folder}/slurmd.pid
SlurmctldLogFile={folder}/slurmctld.log
SlurmdLogFile={folder}/slurmd.log
ProctrackType=proctrack/linuxproc
TaskPlugin=task/none
MpiDefault=none
SelectType=select/cons_tres
SelectTypeParameters=CR_CPU_Memory
JobCompType=jobcomp/filetxt
JobCompLoc={folder}/jobs.txt
NodeName={host} NodeAddr=127.0.0.1 CPUs={cores} RealMemory={memory} State=UNKNOWN
PartitionName=all Nodes=ALL Default=YES MaxTime=INFINITE State=UP
"""


def say(text: str) -> None:
    """Print a line of progress."""
    print(text, file=sys.stderr, flush=True)


def need_daemons() -> None:
    """Install what is missing; end in one line where that cannot be done."""
    os.environ["PATH"] += os.pathsep + "/usr/sbin"
    missing = sorted({package for daemon, package in DAEMONS.items() if not shutil.which(daemon)})
    if DEBIANS_PLACE.exists():
        sys.exit(f"{DEBIANS_PLACE} is there: this machine has a Slurm of its own")
    if os.geteuid() != 0:
        sys.exit("slurmd wants root: run this as root, in a machine or container of your own")
    if missing:
        say(f"Installing {' '.join(missing)}")
        failure = install(missing)
        if failure:
            sys.exit(f"apt-get install {' '.join(missing)} failed: {failure}")


def write_configuration(folder: Path) -> None:
    """Write the cluster's configuration and the key by which its daemons know each other."""
    for name in ("state", "spool"):
        (folder / name).mkdir()
    key = folder / "munge.key"
    key.touch(mode=0o600)
    key.write_bytes(os.urandom(128))
    found = subprocess.run(["slurmd", "-C"], capture_output=True, text=True, check=True).stdout
    memory = re.search(r"RealMemory=(\d+)", found)
    assert memory, found
    text = CONFIGURATION.format(
        host=platform.node().partition(".")[0],
        folder=folder,
        control_port=CONTROL_PORT,
        node_port=NODE_PORT,
        cores=os.cpu_count(),
        memory=memory[1],
    )
    (folder / "slurm.conf").write_text(text)


@contextmanager
def daemon(*command: str) -> Iterator[None]:
    """Run a daemon in the foreground of a child, and stop it at the end."""
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    try:
        yield
    finally:
        process.terminate()
        try:
            process.wait(timeout=30)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()


@contextmanager
def cluster(folder: Path) -> Iterator[None]:
    """Keep a cluster of one node up."""
    write_configuration(folder)
    DEBIANS_PLACE.parent.mkdir(exist_ok=True)
    DEBIANS_PLACE.symlink_to(folder / "slurm.conf")
    try:
        with daemons(folder):
            yield
    finally:
        DEBIANS_PLACE.unlink()


@contextmanager
def daemons(folder: Path) -> Iterator[None]:
    """Keep the three daemons up, and leave no job behind."""
    files = {name: f"{folder}/munge.{name}" for name in ("key", "socket", "pid", "log", "seed")}
    munged = [
        "munged",
        "--foreground",
        "--force",
        f"--key-file={files['key']}",
        f"--socket={files['socket']}",
        f"--pid-file={files['pid']}",
        f"--log-file={files['log']}",
        f"--seed-file={files['seed']}",
    ]
    with daemon(*munged):
        wait_for("munged", lambda: Path(files["socket"]).exists())
        with daemon("slurmctld", "-D"), daemon("slurmd", "-D"):
            wait_for("the node", lambda: said("sinfo", "-h", "-o", "%T") == "idle")
            try:
                yield
            finally:
                said("scancel", "--user=root")
                wait_for("the queue's end", lambda: said("squeue", "-h") == "")


def said(*command: str) -> str:
    """Give what a command printed, a question mark while it fails."""
    done = subprocess.run(command, capture_output=True, text=True)
    return done.stdout.strip() if done.returncode == 0 else "?"


def wait_for(what: str, ready: Callable[[], bool]) -> None:
    """Wait until something is ready, for half a minute at most."""
    for _ in range(150):
        if ready():
            return
        time.sleep(0.2)
    raise TimeoutError(f"{what} did not come within 30 s")
