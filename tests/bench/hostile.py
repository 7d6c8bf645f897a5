"""What the worst requests cost. By hand: python tests/bench/hostile.py [words of a name].

Each case is one whole request, asked of the app by a test client in a process of its
own. Printed are its processor time, by how much it raised the process's peak memory,
and how the answer began. Wanted: 2 s and 200 MB at most on a quiet machine. Those
called "honest" are large, but what a photographer may well have.
"""

import base64
import json
import os
import resource
import struct
import sys
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from lightplan.choices.raw import RIG_FIELDS, slot_field  # noqa: E402
from lightplan.web import ids  # noqa: E402  (the copy that this file is part of)
from lightplan.web.app import create_app  # noqa: E402
from lightplan.web.frames.heads import PATH  # noqa: E402

UPDATE = "/_dash-update-component"
LONGEST_S = 30
APP = create_app(str(ROOT / "locations.example.toml"))
EXAMPLE = (ROOT / "locations.example.toml").read_text("utf-8")


def called(output, many=(), **values):
    """Return the body of a request of the callback that has an output.

    ``values`` go by the ids of components; ``many`` are (id, property, value) of
    components whose id is a pattern.
    """
    values = {name.replace("_", "-"): value for name, value in values.items()}
    (key,) = (
        k
        for k, asked in APP.callback_map.items()
        if f"{output}." in k.replace("@", ".") and {*values} <= _named(asked)
    )
    asked = APP.callback_map[key]
    names = key.strip(".").split("...")
    outputs = [
        dict(zip(("id", "property"), n.rsplit(".", 1), strict=True)) for n in names
    ]

    def given(entry):
        if entry["id"].startswith("{"):
            kind = json.loads(entry["id"])["type"]
            return [
                {"id": id_, "property": prop, "value": value}
                for id_, prop, value in many
                if (id_["type"], prop) == (kind, entry["property"])
            ]
        value = values.get(entry["id"], 1 if entry["property"] == "n_clicks" else None)
        return {**entry, "value": value}

    inputs = [given(entry) for entry in asked["inputs"]]
    first = next(i for i in inputs if i)
    first = first[0] if isinstance(first, list) else first
    id_ = first["id"]
    id_ = (
        json.dumps(id_, separators=(",", ":"), sort_keys=True)
        if isinstance(id_, dict)
        else id_
    )
    return json.dumps(
        {
            "output": key,
            "outputs": outputs if key.startswith("..") else outputs[0],
            "inputs": inputs,
            "state": [given(entry) for entry in asked["state"]],
            "changedPropIds": [f"{id_}.{first['property']}"],
        }
    ).encode()


def _named(asked):
    return {entry["id"] for entry in (*asked["inputs"], *asked["state"])}


def data_url(data):
    return "data:;base64," + base64.b64encode(data).decode()


def form():
    from lightplan.catalog import places
    from lightplan.choices import state
    from lightplan.web.clock import now

    raw = state.defaults(places.load(ROOT / "locations.example.toml"), now())
    found = dict(raw.fields)
    for slot, rig in enumerate(raw.rigs):
        for field, text in zip(RIG_FIELDS, rig, strict=True):
            found[slot_field(field, slot)] = text
    return found


# ------------------------------------------------------------- catalogs


def loaded(text):
    """A catalog as a file on the page of places and kit."""
    return UPDATE, called(ids.KIT_WANTED, kit_upload=data_url(text.encode()))


def kept(text):
    """A catalog as the browser's own, shown on the page of places and kit."""
    base = {"text": text, "revision": "1"}
    view = {"at": {"kind": "places", "name": ""}, "drafts": {}}
    return UPDATE, called(ids.KIT_LISTS, kit_base=base, kit_view=view)


def merged(mine, base, newer):
    """Three catalogs of two tabs, to be made one."""
    wanted = {"text": mine, "kind": "", "name": "", "draft": ""}
    return UPDATE, called(
        ids.KIT_WANTED,
        kit_newer={"record": {"text": newer, "revision": "2"}},
        kit_wanted=wanted,
        kit_base={"text": base, "revision": "1"},
    )


def place(n, more="", zone="Etc/UTC"):
    return f'{{name="p{n}",latitude_deg=1,longitude_deg=2,timezone="{zone}"{more}}},'


KIT = (
    'bodies=[{name="b",format="full frame",megapixels=45,iso_ceiling=6400}]\n'
    'lenses=[{name="l",widest=[[400,2.8]]}]\n'
    'rigs=[{name="r",body="b",lens="l"}]\n'
)


def covers(count):
    rows = "".join(f'{{name="c{n}",stops=1,spread_stops=1}},' for n in range(count))
    return f"covers=[{rows}]\n"


def catalog(rows, more=""):
    return f"places=[{''.join(rows)}]\n{KIT}{more}"


def spots(count, cover="open"):
    return "".join(
        f'{{name="{n}",bearing_deg=1,cover="{cover}"}},' for n in range(count)
    )


def many_kits(tag=""):
    return "".join(
        [
            f"places=[{''.join(place(f'{tag}{n}') for n in range(1000))}]\n",
            "bodies=[", *(f'{{name="b{tag}{n}",format="APS-C",megapixels=45,iso_ceiling=6400}},' for n in range(1000)), "]\n",
            "lenses=[", *(f'{{name="l{tag}{n}",widest=[[400,2.8]]}},' for n in range(1000)), "]\n",
            "converters=[", *(f'{{name="v{tag}{n}",factor=2}},' for n in range(1000)), "]\n",
            "rigs=[", *(f'{{name="r{tag}{n}",body="b{tag}999",lens="l{tag}999",converter="v{tag}999"}},' for n in range(1000)), "]\n",
            covers(200),
        ]
    )  # fmt: skip


# ------------------------------------------------------------- frames

HEADING = "time,f,shutter,iso\n"


def heads(*files):
    """Files whose headers, or all of which, are sent."""
    index = [
        [name, max(size, len(data)), [[0, len(data)]]] for name, size, data in files
    ]
    text = json.dumps(index).encode()
    body = len(text).to_bytes(4, "big") + text + b"".join(data for *_, data in files)
    return PATH, body


def table(text):
    return heads(("a.csv", 0, text.encode()))


def rows(count):
    return HEADING + "".join(
        f"2025-08-{1 + n // 86400:02d} {n // 3600 % 24:02d}:{n // 60 % 60:02d}:{n % 60:02d}+02:00,6.3,1/1250,3200\n"
        for n in range(count)
    )


def long_directory(entries=5800, kind=2, count=1, size=70_000):
    """A TIFF whose first directory has many entries, each of the kind given."""
    entry = struct.pack("<HHII", 0x9003, kind, count, 8)
    body = struct.pack("<2sHIH", b"II", 42, 8, entries) + entry * entries + bytes(4)
    return body[:size]


def tiffs(**how):
    return heads(*((f"{n}.tif", 1_000_000, long_directory(**how)) for n in range(32)))


def frame_rows(count, zone=True, group=lambda n: ""):
    return [
        [
            f"{group(n)}/{n}.jpg",
            f"2025-{1 + n // 86400 % 12:02d}-{1 + n // 3600 % 28:02d}T{9 + n // 3600 % 7:02d}:{n // 60 % 60:02d}:{n % 60:02d}",
            120 if zone else None,
            None,
            6.3,
            0.0008,
            3200,
            -0.7,
            "",
        ]
        for n in range(count)
    ]


def learned(found, zone="", dropped=()):
    values = {"learn-frames": {"frames": found, "dropped": list(dropped)}}
    return UPDATE, called(
        ids.LEARN_ANSWER, **{**form(), **values, ids.LEARN_CLOCK_ZONE: zone}
    )


# ------------------------------------------------------------- routes

OPEN = '<gpx version="1.1" creator="x" xmlns="http://www.topografix.com/GPX/1/1">'


def route(text):
    return UPDATE, called(
        ids.LOOP_SAID, loop_file={"name": "a.gpx", "contents": data_url(text.encode())}
    )


def recorded(count, wild=False, more="<ele>540.1</ele>"):
    """A day in a vehicle, a point a second."""
    points = "".join(
        f'<trkpt lat="{-13.1 + (n * 7919 % 1000 if wild else n) * 1e-6:.6f}" lon="{31.8 + n % 900 * 1e-6:.6f}">{more}'
        f"<time>2027-08-12T{4 + n // 3600:02d}:{n // 60 % 60:02d}:{n % 60:02d}Z</time></trkpt>\n"
        for n in range(count)
    )
    return f"{OPEN}<trk><trkseg>{points}</trkseg></trk></gpx>"


# ------------------------------------------------------------- anything


def empties(what, largest=12 * 2**20, most=10**9):
    body = json.loads(called(ids.LOOP_SAID, loop_file={"name": "a", "contents": ""}))
    text = json.dumps({**body, "more": "@"})
    room = largest - len(text)
    inner = "[" + ",".join([what] * min(most, room // (len(what) + 1))) + "]"
    return UPDATE, text.replace('"@"', inner).encode()[:largest]


def answer_rows(count, names):
    lines = [
        ({"type": "kit-field", "part": "spots", "row": n, "key": key}, value)
        for n in range(count)
        for key, value in (("name", f"s{n}"), ("cover", "open"))
    ]
    many = [
        (id_, prop, id_ if prop == "id" else value)
        for id_, value in lines
        for prop in ("id", "value")
    ]
    add = {"type": "kit-add", "part": "spots"}
    return UPDATE, called(
        ids.KIT_FORM,
        [(add, "n_clicks", 1), *many],
        kit_original={"kind": "places", "name": "p", "draft": "x"},
        kit_base={"text": catalog([place(1)], covers(names)), "revision": "1"},
    )


CASES = {
    "catalog: 5,500 unknown zones": lambda: loaded(
        "places=[" + ",".join(['{timezone="Africa/Lusakka"}'] * 17_000) + "]\n" + KIT
    ),
    "catalog: 5,500 different unknown zones": lambda: loaded(
        "places=["
        + ",".join(
            f'{{timezone="Africa/Lusakka{n}/' + "x" * 55 + '"}' for n in range(5500)
        )
        + "]\n"
        + KIT
    ),
    "catalog: 45,000 unknown keys": lambda: loaded(
        "\n".join(f"k{n}=1" for n in range(45_000)) + "\n" + catalog([place(1)])
    ),
    "catalog: 10,000 spots under the last of 200 covers": lambda: loaded(
        catalog(
            (place(n, f",spots=[{spots(190, 'c199')}]") for n in range(52)),
            covers(200),
        )
    ),
    "catalog: 8,000 rigs of unknown bodies": lambda: loaded(
        many_kits().replace('body="b999"', 'body="nothing"')
    ),
    "catalog: 6 × 1,000 entries, kept": lambda: kept(many_kits()),
    "catalog: 6 × 1,000 entries, loaded": lambda: loaded(many_kits()),
    "catalog: three of 6 × 1,000 entries, made one": lambda: merged(
        many_kits("a"), many_kits("b"), many_kits("c")
    ),
    "catalog: 6 × 1,000 entries, most of them removed here": lambda: merged(
        catalog([place(1)]) + covers(1),
        many_kits(),
        many_kits().replace('converter="v999"', 'converter="v998"'),
    ),
    "catalog: 75 long skylines": lambda: loaded(
        catalog(
            place(
                n, ',spots=[{name="s",bearing_deg=1,horizon=[' + "[1,1]," * 1000 + "]}]"
            )
            for n in range(75)
        )
    ),
    "catalog: honest, 150 places with gates and spots": lambda: loaded(
        catalog(place(n, f",spots=[{spots(5, 'c3')}]") for n in range(150)) + covers(20)
    ),
    "form: 300 rows × 200 covers": lambda: answer_rows(300, 200),
    "form: 2,400 rows": lambda: answer_rows(2_400, 0),
    "table: runs of blanks in shutters": lambda: table(
        HEADING + f"2025-08-12 17:34,6.3,{'1' + ' ' * 298 + 'x'},3200\n" * 12_500
    ),
    "table: runs of blanks in heading": lambda: table(
        " " * 3_000_000 + "time,f,shutter,iso\n"
    ),
    "table: 3,900,000 columns": lambda: table("," * 3_900_000 + "\n"),
    "table: 900,000 fields a row": lambda: table(HEADING + ("," * 900_000 + "\n") * 4),
    "table: 99,999 rows": lambda: table(rows(99_999)),
    "table: 20,000 rows": lambda: table(rows(19_999)),
    "tables: 60 of 9,000 rows": lambda: heads(
        *((f"{n}.csv", 0, (HEADING + "a,b,c,d\n" * 9_000).encode()) for n in range(60))
    ),
    "table: honest, 10,000 rows": lambda: table(rows(10_000)),
    "headers: 32 long directories": tiffs,
    "headers: 32 long directories of long values": lambda: tiffs(kind=3, count=900),
    "headers: 32 long directories of rationals": lambda: tiffs(kind=5, count=900),
    "headers: 32 directories of directories": lambda: heads(
        *(
            (
                f"{n}.tif",
                1_000_000,
                struct.pack("<2sHIH", b"II", 42, 8, 5000)
                + struct.pack("<HHII", 0x8769, 4, 1, 8) * 5000
                + bytes(4),
            )
            for n in range(32)
        )
    ),
    "headers: 32 × 20 pieces": lambda: (
        PATH,
        (lambda t: len(t).to_bytes(4, "big") + t + bytes(1000))(
            json.dumps(
                [["a.tif", 10**9, [[i * 50, 50] for i in range(20)]]] * 32
            ).encode()
        ),
    ),
    "frames: 20,000 kept": lambda: learned(frame_rows(20_000)),
    "frames: 20,000 kept, zone of the place": lambda: learned(
        frame_rows(20_000, zone=False), "place"
    ),
    "frames: 20,000 in 100 groups": lambda: learned(
        frame_rows(20_000, group=lambda n: f"g{n % 100}")
    ),
    "frames: 20,000 days of a zone": lambda: learned(
        [
            [
                f"{n}.jpg",
                f"{1990 + n // 365 % 45}-{1 + n % 12:02d}-{1 + n % 28:02d}T12:00:00",
                *(None, None, 6.3, 0.0008, 3200, -0.7, ""),
            ]
            for n in range(20_000)
        ],
        "place",
    ),
    "frames: 60,000 kept": lambda: learned(frame_rows(60_000)),
    "frames: honest, 10,000 kept, zone of the place": lambda: learned(
        frame_rows(10_000, zone=False), "place"
    ),
    "gpx: 1,300,000 empty tracks": lambda: route(f"{OPEN}{'<trk/>' * 1_330_000}</gpx>"),
    "gpx: 900,000 empty segments": lambda: route(
        f"{OPEN}<trk>{'<trkseg/>' * 880_000}</trk></gpx>"
    ),
    "gpx: 1,900,000 foreign elements": lambda: route(
        f"{OPEN}<extensions>{'<a/>' * 1_900_000}</extensions></gpx>"
    ),
    "gpx: deep": lambda: route(OPEN + "<a>" * 1_100_000 + "</a>" * 1_100_000),
    "gpx: many attributes": lambda: route(
        "<gpx " + " ".join(f'a{n}=""' for n in range(700_000)) + "/>"
    ),
    "gpx: many name spaces": lambda: route(
        "<gpx " + " ".join(f'xmlns:a{n}="{n}"' for n in range(350_000)) + "/>"
    ),
    "gpx: waypoints of bad times": lambda: route(
        OPEN + '<wpt lat="1" lon="1"><time>x</time></wpt>' * 49_000 + "</gpx>"
    ),
    "gpx: 50,000 points here and there": lambda: route(recorded(50_000, wild=True)),
    "gpx: honest, 50,000 points": lambda: route(recorded(50_000)),
    "gpx: honest, 36,000 points with extensions": lambda: route(
        recorded(
            36_000,
            more="<ele>540</ele><extensions><speed>4.1</speed><course>12</course></extensions>",
        )
    ),
    "gpx: comments": lambda: route(OPEN + "<!-- x -->" * 750_000 + "</gpx>"),
    "legs: 4,000 blanks": lambda: (
        UPDATE,
        called(ids.LOOP_ANSWER, **{**form(), "legs": "1" + " " * 3_998 + "x"}),
    ),
    "link: 8,000 rigs": lambda: (
        UPDATE,
        called(
            ids.ROOT,
            visit={"path": "/", "search": "?" + "rig=a&" * 1_900_000, "record": None},
        ),
    ),
    "callback: millions of empty lists": lambda: empties("[]"),
    "callback: 249,000 empty lists": lambda: empties("[]", most=249_000),
    "callback: 55,000 lists in lists": lambda: empties("[[[[[[[[]]]]]]]]", most=55_000),
    "callback: millions of empty tables": lambda: empties("{}"),
    "callback: millions of numbers": lambda: empties("1"),
    "callback: millions of decimals": lambda: empties("1.5"),
    "callback: millions of texts": lambda: empties('""'),
    "callback: a number without end": lambda: empties("1" * 12_000_000),
    "callback: a text of escapes": lambda: empties('"' + "\\u0041" * 1_900_000 + '"'),
    "callback: lists in lists": lambda: empties("[[[[[[[[]]]]]]]]"),
    "callback: many changes": lambda: (
        UPDATE,
        (lambda b: json.dumps({**b, "changedPropIds": ["{}.x"] * 1_400_000}).encode())(
            json.loads(called(ids.LOOP_SAID, loop_file={"name": "a", "contents": ""}))
        ),
    ),
}


def memory(name):
    for line in Path("/proc/self/status").read_text().splitlines():
        if line.startswith(name):
            return int(line.split()[1]) / 1024
    raise LookupError(name)


def measured(path, body):
    """Print what a request costs; runs in a process of its own."""
    resource.setrlimit(resource.RLIMIT_CPU, (LONGEST_S, LONGEST_S))
    client = APP.server.test_client()
    client.get("/_dash-dependencies")  # what the first request sets up
    Path("/proc/self/clear_refs").write_text("5")  # the peak begins anew
    before = memory("VmRSS")
    start = time.process_time()
    kind = "application/json" if path == UPDATE else "application/octet-stream"
    response = client.post(path, data=body, content_type=kind)
    spent = time.process_time() - start
    grown = memory("VmHWM") - before
    over = "  OVER" if spent > 2 or grown > 200 else ""
    print(
        f"{spent:7.2f} s {grown:6.0f} MB {len(response.data) / 1e6:7.2f} MB back "
        f"{response.status_code}{over}  {response.text[:150]!r}",
        flush=True,
    )


def main(words):
    for name, case in CASES.items():
        if not all(word in name for word in words):
            continue
        path, body = case()
        print(f"{name} ({len(body) / 1e6:.1f} MB)", flush=True)
        child = os.fork()
        if not child:
            try:
                measured(path, body)
            finally:
                os._exit(0)
        _, status = os.waitpid(child, 0)
        if status:
            print(f"      ended by {status}: more than {LONGEST_S} s?", flush=True)


if __name__ == "__main__":
    main(sys.argv[1:])
