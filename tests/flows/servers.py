"""A PostgreSQL of one's own, for those who break it or measure by it."""

import os
import shutil
import socket
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path


def free_port() -> int:
    with socket.create_server(("127.0.0.1", 0)) as server:
        return int(server.getsockname()[1])


def postgres_programs() -> Path:
    """Where the newest server programs of this machine are."""
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"), key=lambda at: float(at.parts[-3]))
    on_path = shutil.which("initdb")
    if not found and not on_path:
        raise FileNotFoundError("There is no PostgreSQL server here: tests/run installs one.")
    return (found[-1] if found else Path(str(on_path)).resolve()).parent


@dataclass
class Postgres:
    """A server in a folder of its own."""

    folder: Path
    port: int

    @property
    def url(self) -> str:
        return f"postgres://pourplan@127.0.0.1:{self.port}/postgres"

    def run(self, program: str, *words: str) -> None:
        """One of its programs; as root it is the person postgres who runs it."""
        person = ["runuser", "-u", "postgres", "--"] if os.geteuid() == 0 else []
        command = [*person, str(postgres_programs() / program), f"--pgdata={self.folder / 'rows'}", *words]
        subprocess.run(command, cwd=self.folder, check=True, stdout=subprocess.DEVNULL)

    def ask(self, *words: str) -> None:
        self.run("pg_ctl", f"--log={self.folder / 'log'}", "--wait", "--silent", *words)

    def start(self) -> None:
        more = f"-p {self.port} -k {self.folder} -c listen_addresses=127.0.0.1 -c fsync=off"
        self.run("initdb", "--username=pourplan", "--auth=trust", "--encoding=UTF8", "--no-sync")
        self.ask("start", f"--options={more}")

    def restart(self) -> None:
        self.ask("--mode=fast", "restart")

    def stop(self) -> None:
        self.ask("--mode=immediate", "stop")


@contextmanager
def a_postgres() -> Iterator[Postgres]:
    """A server that is there for a while. Its socket must have a short path, so its folder is nobody's."""
    folder = Path(tempfile.mkdtemp(prefix="pourplan-pg."))
    folder.chmod(0o711)
    if os.geteuid() == 0:
        shutil.chown(folder, "postgres")
    server = Postgres(folder, free_port())
    try:
        server.start()
        try:
            yield server
        finally:
            server.stop()
    finally:
        shutil.rmtree(folder, ignore_errors=True)
