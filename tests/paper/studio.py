"""A printer of our own: a print system and a printer behind it, on loopback, as an ordinary user, ended by
what began it. Nothing of the machine's own print system is touched.

How the pieces fit was tried on Debian 12 with CUPS 2.4: the printer wants a "system" bus to announce itself on, and
`lp` talks to a scheduler only, never to a printer.
"""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

LONGEST_S = 30
TOOLS = ("lp", "lpstat", "lpadmin", "cupsd", "ippeveprinter", "dbus-daemon")
FOLDERS = os.pathsep.join((os.environ.get("PATH", os.defpath), "/usr/sbin", "/sbin"))
OTHER_USER = 65534


def why_not() -> str:
    """Return why there can be no printer here, or nothing."""
    if sys.platform != "linux":
        return "the printer's tools are tried on Linux only"
    missing = [tool for tool in TOOLS if shutil.which(tool, path=FOLDERS) is None]
    return f"no printer here: {', '.join(missing)} not installed" if missing else ""


@dataclass
class Studio:
    """The running print system. ``queue`` prints to a printer that keeps each job's bytes in ``jobs``."""

    folder: Path
    server: str
    queue: str
    jobs: Path
    printer: Callable[[], subprocess.Popen[bytes]]
    running: dict[str, subprocess.Popen[bytes]]

    def documents(self) -> list[bytes]:
        """Return the documents that came out, in the order of the jobs."""
        files = sorted(self.jobs.glob("*.dat"), key=lambda path: (path.stat().st_mtime_ns, path.name))
        return [file.read_bytes() for file in files]

    def wait_for(self, count: int) -> list[bytes]:
        """Wait until so many documents have come out whole."""
        until = time.monotonic() + LONGEST_S
        while time.monotonic() < until:
            if len(self.documents()) >= count and not self.asked("lpstat", "-o", self.queue).strip():
                return self.documents()
            time.sleep(0.05)
        raise AssertionError(f"no {count} documents after {LONGEST_S} s: {self.log()}")

    def asked(self, *command: str) -> str:
        done = subprocess.run(
            [_tool(command[0]), *command[1:]], env=self.words, capture_output=True, text=True, timeout=LONGEST_S
        )
        return done.stdout + done.stderr

    @property
    def words(self) -> dict[str, str]:
        return {**os.environ, "CUPS_SERVER": self.server, "LC_ALL": "C", "PATH": FOLDERS}

    def log(self) -> str:
        return (self.folder / "error_log").read_text(encoding="utf-8", errors="replace")[-2000:]

    def stop_printer(self) -> None:
        _end(self.running.pop("printer"))

    def start_printer(self) -> None:
        self.running["printer"] = self.printer()


@contextmanager
def studio() -> Iterator[Studio]:
    """Run a print system with one queue and its printer; end them all at the end, each by its own process."""
    folder = Path(tempfile.mkdtemp(prefix="dyeday-print-", dir="/tmp"))  # a socket's path must be short
    running: dict[str, subprocess.Popen[bytes]] = {}
    # A scheduler may not run as root with these files: tests that run as root give them to another user.
    who = {"user": OTHER_USER, "group": OTHER_USER, "extra_groups": []} if os.geteuid() == 0 else {}

    def begin(name: str, *command: str, **words: str) -> subprocess.Popen[bytes]:
        with (folder / f"{name}.out").open("wb") as out:
            started: subprocess.Popen[bytes] = subprocess.Popen(
                [_tool(command[0]), *command[1:]],
                cwd=folder,
                env={**os.environ, **words, "HOME": str(folder), "LC_ALL": "C"},
                stdin=subprocess.DEVNULL,
                stdout=out,
                stderr=out,
                **who,  # type: ignore[call-overload]
            )
        running[name] = started
        return started

    try:
        port, printer_port = _free_port(), _free_port()
        _write_settings(folder, port)
        bus = f"unix:path={folder}/bus"
        begin("bus", "dbus-daemon", f"--config-file={folder}/bus.conf", "--nofork", "--nopidfile")
        _until((folder / "bus").exists)

        def printer() -> subprocess.Popen[bytes]:
            started = begin(
                "printer", "ippeveprinter", "-k", "-c", "/bin/true", "-d", f"{folder}/ipp", "-p", str(printer_port),
                "-n", "localhost", "-r", "off", "-f", "text/plain,application/pdf", "Studio",
                DBUS_SYSTEM_BUS_ADDRESS=bus,
            )  # fmt: skip
            _until(lambda: _listens(printer_port))
            return started

        begin("cupsd", "cupsd", "-f", "-c", f"{folder}/cupsd.conf", "-s", f"{folder}/cups-files.conf")
        found = Studio(folder, f"127.0.0.1:{port}", "studio", folder / "ipp", printer, running)
        printer()
        _until(lambda: _listens(port))
        uri = f"ipp://localhost:{printer_port}/ipp/print"
        said = found.asked("lpadmin", "-p", "studio", "-E", "-v", uri, "-m", "raw", "-o",
                           "printer-error-policy=retry-current-job")  # fmt: skip
        assert "studio" in found.asked("lpstat", "-p", "studio"), said + found.log()
        yield found
    finally:
        for process in reversed(list(running.values())):
            _end(process)
        shutil.rmtree(folder, ignore_errors=True)


def _write_settings(folder: Path, port: int) -> None:
    for name in ("ipp", "cache", "state", "spool", "temp"):
        (folder / name).mkdir()
    (folder / "bus.conf").write_text(
        f"<busconfig><type>session</type><listen>unix:path={folder}/bus</listen><auth>EXTERNAL</auth>"
        '<policy context="default"><allow send_destination="*" eavesdrop="true"/><allow eavesdrop="true"/>'
        '<allow own="*"/></policy></busconfig>\n',
        encoding="utf-8",
    )
    places = {
        "ServerRoot": folder, "ServerBin": "/usr/lib/cups", "DataDir": "/usr/share/cups",
        "CacheDir": folder / "cache",
        "StateDir": folder / "state", "RequestRoot": folder / "spool", "TempDir": folder / "temp",
        "AccessLog": folder / "access_log", "ErrorLog": folder / "error_log", "PageLog": folder / "page_log",
    }  # fmt: skip
    user, group = _names()
    lines = [f"{key} {value}" for key, value in places.items()]
    lines += ["FileDevice Yes", f"User {user}", f"Group {group}", f"SystemGroup {group}"]
    (folder / "cups-files.conf").write_text("\n".join(lines) + "\n", encoding="utf-8")
    (folder / "cupsd.conf").write_text(
        f"Listen 127.0.0.1:{port}\nBrowsing Off\nWebInterface No\nDefaultAuthType None\nJobRetryInterval 1\n"
        "<Location />\nOrder allow,deny\nAllow from 127.0.0.1\n</Location>\n"
        "<Location /admin>\nOrder allow,deny\nAllow from 127.0.0.1\n</Location>\n"
        "<Policy default>\n<Limit All>\nOrder deny,allow\n</Limit>\n</Policy>\n",
        encoding="utf-8",
    )
    if os.geteuid() == 0:
        for path in (folder, *folder.rglob("*")):
            os.chown(path, OTHER_USER, OTHER_USER)


def _names() -> tuple[str, str]:
    import grp
    import pwd

    if os.geteuid() == 0:
        return pwd.getpwuid(OTHER_USER).pw_name, grp.getgrgid(OTHER_USER).gr_name
    return pwd.getpwuid(os.geteuid()).pw_name, grp.getgrgid(os.getegid()).gr_name


def _tool(name: str) -> str:
    found = shutil.which(name, path=FOLDERS)
    assert found is not None, name
    return found


def _free_port() -> int:
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        port: int = one.getsockname()[1]
    return port


def _listens(port: int) -> bool:
    with socket.socket() as one:
        one.settimeout(0.5)
        return one.connect_ex(("127.0.0.1", port)) == 0


def _until(holds: Callable[[], bool]) -> None:
    until = time.monotonic() + LONGEST_S
    while not holds():
        assert time.monotonic() < until, "a part of the print system did not come up"
        time.sleep(0.02)


def _end(process: subprocess.Popen[bytes]) -> None:
    process.terminate()
    try:
        process.wait(5)
    except subprocess.TimeoutExpired:
        process.kill()
        process.wait()
