"""Pages, API and worker on this machine until Ctrl-C."""

import os
import signal
import socket
import subprocess
import sys
import time
from contextlib import closing
from types import FrameType

HOST = "127.0.0.1"
PORTS = range(8000, 8100)


def free_port() -> int:
    """The first port from 8000 on that nobody listens on."""
    for port in PORTS:
        with closing(socket.socket()) as probe:
            if probe.connect_ex((HOST, port)) != 0:
                return port
    raise RuntimeError(f"No port from {PORTS.start} to {PORTS.stop - 1} is free.")


def start(port: int) -> list[subprocess.Popen[bytes]]:
    """Start the web server and the worker with its clock; they write to this terminal."""
    # The terminal is for the texts; who wants the log says so with LOG_LEVEL.
    environment = {"LOG_LEVEL": "WARNING", **os.environ, "PUBLIC_URL": f"http://{HOST}:{port}"}
    web = (
        "gunicorn",
        "pourplan.wsgi",
        "--config",
        "python:pourplan.webserver",
        "--bind",
        f"{HOST}:{port}",
        "--threads",
        "4",
        "--log-level",
        "warning",
    )
    worker = (
        *("celery", "-q", "-A", "pourplan", "worker", "-B"),
        *("-P", "threads", "-c", "2", "--loglevel", "warning"),
    )
    return [subprocess.Popen([sys.executable, "-m", *command], env=environment) for command in (web, worker)]


def run_until_stopped(processes: list[subprocess.Popen[bytes]]) -> int:
    """Wait for Ctrl-C, or for one of them to end by itself, then end the rest; the exit code to give."""
    signal.signal(signal.SIGTERM, _stop)
    try:
        while all(process.poll() is None for process in processes):
            time.sleep(0.3)
    except KeyboardInterrupt:
        return 0
    finally:
        for process in processes:
            if process.poll() is None:
                process.terminate()
        for process in processes:
            process.wait(timeout=20)
    return 1


def _stop(number: int, frame: FrameType | None) -> None:
    raise KeyboardInterrupt
