"""Start lightplan: ``python app.py``, or ``app:server`` for a WSGI server."""

import logging
import os
import sys

from lightplan.web.factory import create_app

app = create_app()
server = app.server

if __name__ == "__main__":
    port = os.environ.get("LIGHTPLAN_PORT", "8050")
    if not (port.isdecimal() and 0 < int(port) < 65536):
        sys.exit(f"lightplan: LIGHTPLAN_PORT must be 1 to 65535, got {port!r}")
    # Its lines hold addresses, and those hold what people chose.
    logging.getLogger("werkzeug").setLevel(logging.CRITICAL)
    app.run(
        host=os.environ.get("LIGHTPLAN_HOST", "127.0.0.1"),
        port=int(port),
        debug=False,
    )
