"""Serve the page to browsers: ``lightplan serve`` or ``python app.py``.

waitress reads a whole request before a thread handles it, and sends answers from a
buffer, so that a slow visitor keeps nobody waiting.
"""

import errno
import logging
import os
import socket

import waitress

HOST, PORT = "127.0.0.1", "8050"
THREADS = 4
# A browser opens six; each needs a file descriptor, of which systems often allow 1024.
CONNECTIONS = 900
IDLE_S = 60  # after this a silent connection is closed


def serve(
    host: str | None = None, port: str | None = None, file: str | None = None
) -> None:
    """Serve the page until the process is stopped.

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
        With one sentence, if the port is invalid or the address cannot be listened on.
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
    logging.getLogger("waitress.queue").setLevel(logging.ERROR)  # a queue is no error
    waitress.serve(
        app.server,
        _quiet=True,
        sockets=[listening],
        threads=THREADS,
        connection_limit=CONNECTIONS,
        asyncore_use_poll=True,  # select() is limited to 1024 files
        channel_timeout=IDLE_S,
        # Up to twice the limit gets through, so that the app's own sentence refuses it.
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
        reason = error.strerror
    except UnicodeError:
        reason = "that is neither an address nor a name"
    except OSError as error:
        if error.errno == errno.EADDRINUSE:
            reason = "another program is using it; stop that one or choose another port"
        else:
            reason = os.strerror(error.errno or 0)
    raise ValueError(f"cannot listen on {host}, port {port}: {reason}")


def _address(listening: socket.socket) -> str:
    host, port, *_ = listening.getsockname()
    return f"http://[{host}]:{port}" if ":" in host else f"http://{host}:{port}"
