"""Serve the page to browsers: ``lightplan serve`` or ``python app.py``.

waitress reads each request to its end before a thread takes it up, and sends answers
from a buffer, so that a slow visitor keeps nobody waiting.
"""

import errno
import logging
import os
import socket

import waitress

HOST, PORT = "127.0.0.1", "8050"
THREADS = 4
# A browser holds six; each is a file to the system, which often allows 1024.
CONNECTIONS = 900
IDLE_S = 60  # then a connection on which nothing came is closed


def serve(
    host: str | None = None, port: str | None = None, file: str | None = None
) -> None:
    """Serve the page until the process is told to end.

    Parameters
    ----------
    host : str, optional
        Address or name to listen on; else ``LIGHTPLAN_HOST``, else this machine only.
    port : str, optional
        Port as typed, 1 to 65535; else ``LIGHTPLAN_PORT``, else 8050.
    file : str, optional
        As `factory.create_app` takes it.

    Raises
    ------
    ValueError
        With one sentence on a port that is none, or where nothing can be listened on.
    """
    if host is None:
        host = os.environ.get("LIGHTPLAN_HOST", HOST)
    if port is None:
        port = os.environ.get("LIGHTPLAN_PORT", PORT)
    # Before the app is built, which takes a second or two.
    listening = _listening(host, _number(port))
    from lightplan.web import app as factory
    from lightplan.web import guard

    app = factory.create_app(file)
    print(f"lightplan listens on {_address(listening)}", flush=True)
    logging.getLogger("waitress.queue").setLevel(logging.ERROR)  # a queue is no fault
    waitress.serve(
        app.server,
        _quiet=True,
        sockets=[listening],
        threads=THREADS,
        connection_limit=CONNECTIONS,
        asyncore_use_poll=True,  # select() knows no file above 1024
        channel_timeout=IDLE_S,
        # What is up to twice too much gets the app's own sentence.
        max_request_body_size=2 * guard.LARGEST_REQUEST,
    )


def _number(port: str) -> int:
    if not (port.isdecimal() and len(port) < 6 and 0 < int(port) < 65536):
        raise ValueError(f"port must be 1 to 65535, got {port!r}")
    return int(port)


def _listening(host: str, port: int) -> socket.socket:
    try:
        family, *_, address = socket.getaddrinfo(
            host, port, type=socket.SOCK_STREAM, flags=socket.AI_PASSIVE
        )[0]
        return socket.create_server(address, family=family, backlog=1024)
    except socket.gaierror as error:
        said = error.strerror
    except UnicodeError:
        said = "that is neither an address nor a name"
    except OSError as error:
        if error.errno == errno.EADDRINUSE:
            said = "another program is using it; stop that one or choose another port"
        else:
            said = os.strerror(error.errno or 0)
    raise ValueError(f"cannot listen on {host}, port {port}: {said}")


def _address(listening: socket.socket) -> str:
    host, port, *_ = listening.getsockname()
    return f"http://[{host}]:{port}" if ":" in host else f"http://{host}:{port}"
