"""The command ``air``: a place's air, month by month, from a world map of turbidity."""

import argparse
from pathlib import Path

import tomlkit

from lightplan.catalog import places
from lightplan.catalog.places import Loaded, Place
from lightplan.light import air

_MISSING = (
    "this needs pvlib and h5py, which bring the map: pip install 'lightplan[air]'"
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's own options to its parser."""
    parser.add_argument("--place", metavar="NAME", help="a place in the file")
    parser.add_argument(
        "--write", action="store_true", help="write it into the place in the file, too"
    )


def output(chosen: argparse.Namespace, loaded: Loaded) -> str:
    """Return the line for the file, and write it where asked.

    Raises
    ------
    ValueError
        If the place is not known, the map not installed, or the file the example.
    """
    place = loaded.catalog.place(chosen.place or loaded.catalog.places[0].name)
    depths = monthly(place)
    line = f"air = [{', '.join(f'{depth:g}' for depth in depths)}]"
    if chosen.write:
        _write(loaded.path, place, depths)
    head = (
        f"# {place.name}: optical depth of the aerosol at 500 nm, January to December, "
        "from\n# Meteotest's monthly turbidity (pvlib) by Ineichen 2008, at sea level. "
        "A day may\n# have half or twice as much."
    )
    return f"{head}\n{line}\n"


def monthly(place: Place) -> list[float]:
    """Return a place's twelve optical depths at 500 nm, to 0.01.

    Raises
    ------
    ValueError
        If pvlib or h5py is not installed.

    References
    ----------
    .. [1] Remund, Wald, Lefèvre, Ranchin & Page, ISES 2003: worldwide turbidity.
    """
    try:
        import h5py  # noqa: F401  pvlib reads the map with it
        import pandas as pd
        from pvlib.clearsky import lookup_linke_turbidity
    except ImportError:
        raise ValueError(_MISSING) from None
    middles = pd.DatetimeIndex([f"2027-{month:02}-15" for month in range(1, 13)])
    linke = lookup_linke_turbidity(
        middles, place.latitude_deg, place.longitude_deg, interp_turbidity=False
    )
    return [round(float(depth), 2) for depth in air.aod_from_linke(linke.to_numpy())]


def _write(path: Path, place: Place, depths: list[float]) -> None:
    if path == places.example():
        raise ValueError(
            f"the built-in example is not written to: copy it to {places.OWN_FILE}, or "
            "name a file of yours with --file"
        )
    text = path.read_text(encoding="utf-8-sig")
    document = tomlkit.parse(text)
    for table in document["places"]:
        if table["name"] == place.name:
            table["air"] = depths
    path.write_text(tomlkit.dumps(document), encoding="utf-8")
