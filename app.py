"""Start lightplan: ``python app.py``, or ``app:server`` for a WSGI server."""

import os

from lightplan.web.factory import create_app

app = create_app()
server = app.server

if __name__ == "__main__":
    app.run(
        host=os.environ.get("LIGHTPLAN_HOST", "127.0.0.1"),
        port=int(os.environ.get("LIGHTPLAN_PORT", "8050")),
        debug=False,
    )
