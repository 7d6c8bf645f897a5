"""Start lightplan: ``python app.py``, or ``app:server`` for a WSGI server."""

import sys

if __name__ == "__main__":
    from lightplan.web import serve

    try:
        serve.serve()
    except ValueError as error:
        sys.exit(f"lightplan: {error}")
else:
    from lightplan.web.app import create_app

    app = create_app()
    server = app.server
