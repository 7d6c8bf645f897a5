"""GPX files: what is read of them, and what is refused before it is parsed."""

import codecs

import gpxpy
import gpxpy.gpx
import numpy as np
import pytest

from lightplan.loop import gpx, route
from lightplan.loop.gpx import GpxError
from lightplan.sky import sphere

# The names of GPX 1.1 (Topografix, gpx.xsd): gpx > trk > trkseg > trkpt.
HEAD = '<?xml version="1.0" encoding="UTF-8"?>\n'
OPEN = '<gpx version="1.1" creator="by hand" xmlns="http://www.topografix.com/GPX/1/1">'
PLACES = [(-13.1, 31.8), (-13.08, 31.8), (-13.08, 31.82), (-13.1, 31.8)]
TIMES = [f"2027-08-12T04:{m:02d}:00Z" for m in (0, 9, 20, 40)]


def points(places, times=(), tag="trkpt") -> str:
    stamps = [f"<time>{t}</time>" if t else "" for t in times] or [""] * len(places)
    return "".join(
        f'<{tag} lat="{lat}" lon="{lon}">{stamp}</{tag}>'
        for (lat, lon), stamp in zip(places, stamps, strict=True)
    )


def track(places=PLACES, times=()) -> str:
    return f"{OPEN}<trk><trkseg>{points(places, times)}</trkseg></trk></gpx>"


def read(text: str, encoding: str = "utf-8") -> gpx.Read:
    return gpx.read(text.encode(encoding), "drive.gpx")


def refused(data: bytes) -> str:
    with pytest.raises(GpxError) as error:
        gpx.read(data, "drive.gpx")
    said = str(error.value)
    assert said.startswith("drive.gpx")
    assert "\n" not in said
    return said


def ends(found: gpx.Read) -> list[tuple[float, float]]:
    laid = route.track(found.route, 0, 0, 15)
    return list(zip(laid.latitude_deg, laid.longitude_deg, strict=True))


# ------------------------------------------------------------- what is read


def test_a_track_becomes_its_legs():
    found = read(HEAD + track())
    # 0.02° of latitude are 2.22 km on the mean sphere (111.195 km a degree).
    first = found.route.legs[0]
    assert first.bearing_deg == 0
    assert first.length_km == pytest.approx(0.02 * 111.195, abs=0.005)
    assert found.points == 4
    assert found.route.start == PLACES[0]


def test_the_legs_lead_through_the_files_points():
    for place, end in zip(PLACES, ends(read(track())), strict=True):
        # Half a degree of 2.2 km, and 5 m.
        assert sphere.distance_km(*place, *end) < 2.25 * np.radians(0.5) + 0.005


@pytest.mark.parametrize("writer", ["1.0", "1.1"])
def test_what_the_parser_writes_is_read(writer):
    whole = gpxpy.gpx.GPX()
    segment = gpxpy.gpx.GPXTrackSegment()
    segment.points = [gpxpy.gpx.GPXTrackPoint(lat, lon) for lat, lon in PLACES]
    whole.tracks.append(gpxpy.gpx.GPXTrack())
    whole.tracks[0].segments.append(segment)
    found = read(whole.to_xml(writer))
    length = sum(leg.length_km for leg in found.route.legs)
    # Its sphere has the equator's radius, 6378.137 km; legs are to ten metres.
    assert length == pytest.approx(
        whole.length_2d() / 1000 * 6371.0088 / 6378.137, abs=0.02
    )


def test_a_winding_files_length_is_the_parsers():
    # Bends of 1 km radius: between two points 15 m off its arc a chord of 345 m is
    # 0.5 % short of it (s²/24r²). The parser's sphere is of 6378.137 km.
    turns = np.linspace(0, 6 * np.pi, 4000)
    places = np.column_stack(
        (-13.1 + 0.009 * np.cos(turns), 31.8 + 0.0092 * np.sin(turns) + 0.003 * turns)
    ).tolist()
    text = track(places)
    theirs = gpxpy.parse(text).length_2d() / 1000 * 6371.0088 / 6378.137
    legs = read(text).route.legs
    ours = sum(leg.length_km for leg in legs)
    # Each leg is rounded to a metre, and its bearing to a degree.
    assert theirs > 19  # three rounds of 2π km
    assert theirs * 0.995 < ours < theirs + 0.001 * len(legs)


def test_a_route_is_read_where_there_is_no_track():
    text = f"{OPEN}<rte>{points(PLACES, tag='rtept')}</rte></gpx>"
    assert len(read(text).route.legs) == 3


def test_pieces_are_joined_and_told():
    text = track() + ""
    text = text.replace(
        "</trkseg>", f"</trkseg><trkseg>{points([(-13.2, 31.8)])}</trkseg>"
    )
    found = read(text)
    assert len(found.route.legs) == 4
    assert "Its 2 pieces are driven one after another" in " ".join(found.notes)


@pytest.mark.parametrize(
    ("encoding", "mark"),
    [
        ("utf-8", b""),
        ("utf-8", codecs.BOM_UTF8),
        ("utf-16-le", codecs.BOM_UTF16_LE),
        ("utf-16-be", codecs.BOM_UTF16_BE),
    ],
)
def test_utf_8_and_utf_16_are_read(encoding, mark):
    text = HEAD.replace("UTF-8", encoding[:6].upper()) + track()
    found = gpx.read(mark + text.encode(encoding), "drive.gpx")
    assert len(found.route.legs) == 3


def test_a_track_across_the_180th_meridian_is_short():
    found = read(track([(0, 179.99), (0, -179.99), (0.02, -179.99)]))
    # 0.02° of the equator are 2.22 km.
    assert found.route.legs[0] == route.Leg(90, pytest.approx(2.22, abs=0.01))


def test_a_track_at_a_pole_is_read():
    found = read(track([(89.99, 0), (90, 0), (89.99, 180)]))
    assert sum(leg.length_km for leg in found.route.legs) == pytest.approx(
        2.22, abs=0.02
    )


# ------------------------------------------------------------- times


def test_times_in_order_are_the_minutes_of_the_legs():
    found = read(track(times=TIMES))
    assert [leg.minutes for leg in found.route.legs] == [9, 11, 20]
    assert "the file’s own minutes" in found.notes[-1]


@pytest.mark.parametrize("bare", [1, 4], ids=["some", "all"])
def test_times_without_a_zone_count_too(bare):
    times = [t.rstrip("Z") for t in TIMES[:bare]] + TIMES[bare:]
    found = read(track(times=times))
    assert [leg.minutes for leg in found.route.legs] == [9, 11, 20]


@pytest.mark.parametrize(
    ("times", "said"),
    [
        ([], "The file has no times"),
        ([*TIMES[:3], ""], "Only some points of the file have times"),
        (TIMES[::-1], "The file’s times are not in order"),
        ([TIMES[0], TIMES[2], TIMES[1], TIMES[3]], "The file’s times are not in order"),
        (["soon"] * 4, "The file has no times"),
        ([TIMES[0]] * 4, "The file’s times are not in order"),
        ([*TIMES[:3], "2027-08-14T04:00:00Z"], "span more than 24 hours"),
    ],
    ids=[
        "none",
        "some",
        "backwards",
        "two swapped",
        "no times",
        "all the same",
        "two days",
    ],
)
def test_other_times_are_told_and_the_speed_counts(times, said):
    found = read(track(times=times))
    assert [leg.minutes for leg in found.route.legs] == [None] * 3
    assert said in found.notes[-1]
    assert found.notes[-1].endswith("the speed you set applies to every leg.")


def recorded(jitter_m: float, every_s: int = 60) -> gpx.Read:
    """Read a drive 10 min north, 59 min standing, 11 min east, as it was recorded."""
    at_min = np.arange(0, 80 * 60 + 1, every_s) / 60
    # 15 km/h in north and 28 km/h in east; 0.045° of latitude are 5 km.
    latitude = -13.1 + 0.045 * np.clip(at_min / 10, 0, 1)
    longitude = 31.8 + 0.046 * np.clip((at_min - 69) / 11, 0, 1)
    off = np.random.default_rng(4).uniform(-1, 1, (2, len(at_min))) * jitter_m / 111_195
    places = list(zip(latitude + off[0], longitude + off[1], strict=True))
    stamps = [f"2027-08-12T{14 + n // 3600}:{n // 60 % 60:02d}:{n % 60:02d}Z"
              for n in np.rint(at_min * 60).astype(int).tolist()]  # fmt: skip
    return read(track(places, stamps))


@pytest.mark.parametrize(("jitter_m", "every_s"), [(0, 60), (8, 60), (8, 5), (8, 1)])
def test_a_stop_keeps_its_minutes(jitter_m, every_s):
    # Receivers of phones err by 4.9 m under open sky (GPS.gov, "GPS Accuracy").
    legs = recorded(jitter_m, every_s).route.legs
    ways = [leg for leg in legs if leg.bearing_deg is not None]
    north = sum(leg.minutes for leg in ways if abs(leg.bearing_deg) < 45)
    east = sum(leg.minutes for leg in ways if abs(leg.bearing_deg - 90) < 45)
    stood = sum(leg.minutes for leg in legs if leg.bearing_deg is None)
    # Braking and setting out, 40 m of each, may count as standing.
    assert (north, stood, east) == (
        pytest.approx(10, abs=0.3),
        pytest.approx(59, abs=0.5),
        pytest.approx(11, abs=0.3),
    )
    assert sum(leg.minutes for leg in legs) == pytest.approx(80, abs=0.2)


def test_a_file_with_many_stops_keeps_the_longest():
    # 200 m in a minute, then standing for 3, 4, … 22 minutes.
    places, minute = [], 0
    for n in range(20):
        places += [((0, n * 0.002), minute), ((0, n * 0.002), minute + 3 + n)]
        minute += 4 + n
    stamps = [f"2027-08-12T{4 + m // 60:02d}:{m % 60:02d}:00Z" for _, m in places]
    found = read(track([place for place, _ in places], stamps))
    stops = [leg.minutes for leg in found.route.legs if leg.bearing_deg is None]
    assert stops == [*range(8, 23)]
    assert "Of its 20 stops the longest 15 are kept." in found.notes


def test_a_slow_leg_is_no_stop():
    # 2 km/h, 100 m in 3 min.
    stamps = [f"2027-08-12T04:{m:02d}:00Z" for m in range(60)]
    found = read(track([(0, 0.0003 * m) for m in range(60)], stamps))
    assert [leg.bearing_deg for leg in found.route.legs] == [90]


# ------------------------------------------------------------- many points


def test_thousands_of_points_on_a_line_are_one_leg():
    found = read(track([(-13.1 + n * 1e-5, 31.8) for n in range(3000)]))
    assert len(found.route.legs) == 1
    assert "Its 3,000 points are drawn as 1 leg, within" in found.notes[0]


def test_a_winding_track_keeps_its_shape_within_sixty_legs():
    turns = np.linspace(0, 40, 5000)
    places = [(-13.1 + 0.002 * np.sin(t), 31.8 + 0.001 * t) for t in turns]
    found = read(track(places))
    assert len(found.route.legs) <= route.MAX_LEGS
    laid = ends(found)
    for lat, lon in places[::50]:
        near = min(float(sphere.distance_km(lat, lon, *end)) for end in laid)
        assert near < 0.25  # half the swing, 0.002° = 222 m, and half a leg


def test_elements_nested_deep_in_a_track_do_no_harm():
    deep = "<a>" * 100_000 + "</a>" * 100_000
    text = track().replace("<trk>", f"<extensions>{deep}</extensions><trk>")
    assert len(read(text).route.legs) == 3


def test_a_corner_is_kept_and_what_lies_on_the_line_is_not():
    x = np.array([0.0, 0.005, 0.01, 0.01, 0.01])
    y = np.array([0.0, 0.0, 0.0, 0.005, 0.01])
    assert gpx.simplified(y, x).tolist() == [0, 2, 4]


def test_a_way_out_and_back_keeps_its_far_end():
    assert gpx.simplified(np.array([0, 0.02, 0.0]), np.zeros(3)).tolist() == [0, 1, 2]


def test_a_spur_beyond_where_the_line_ends_is_kept():
    assert gpx.simplified(np.array([0, 0.03, 0.01]), np.zeros(3)).tolist() == [0, 1, 2]


# ------------------------------------------------------------- refused


BOMB = '<!DOCTYPE gpx [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">]>'
FILE = '<!DOCTYPE gpx [<!ENTITY x SYSTEM "file:///etc/hostname">]>'


@pytest.mark.parametrize("declared", [BOMB, FILE, "<!doctype gpx>", '<!ENTITY x "y">'])
@pytest.mark.parametrize(
    ("encoding", "mark"),
    [
        ("utf-8", b""),
        ("utf-8", codecs.BOM_UTF8),
        ("utf-16-le", codecs.BOM_UTF16_LE),
        ("utf-16-be", codecs.BOM_UTF16_BE),
    ],
)
def test_a_document_type_is_refused_before_parsing(
    declared, encoding, mark, monkeypatch
):
    monkeypatch.setattr(gpx, "_Parsed", lambda text: pytest.fail("it was parsed"))
    text = '<?xml version="1.0"?>' + declared + track()
    assert "declares a document type" in refused(mark + text.encode(encoding))


@pytest.mark.parametrize(
    "encoding", ["utf-16-le", "utf-16-be", "utf-32", "utf-32-le", "cp037"]
)
def test_a_document_type_hides_in_no_other_encoding(encoding, monkeypatch):
    # UTF-16 without a mark, UTF-32, EBCDIC: XML parsers may detect these (XML 1.0,
    # appendix F).
    monkeypatch.setattr(gpx, "_Parsed", lambda text: pytest.fail("it was parsed"))
    text = f'<?xml version="1.0" encoding="{encoding}"?>' + BOMB + track()
    assert "is not text in UTF-8 or UTF-16" in refused(text.encode(encoding))


def test_an_encoding_that_is_declared_is_not_believed():
    # As UTF-7 the name would hold a declaration: "+ADw-!DOCTYPE" is "<!DOCTYPE".
    text = HEAD.replace("UTF-8", "UTF-7") + track().replace(
        "<trk>", "<trk><name>+ADw-!DOCTYPE+AD4-</name>"
    )
    assert len(read(text).route.legs) == 3


def test_the_parser_obeys_no_declared_encoding():
    # The text is decoded by then; a parser that obeys the declaration would fail.
    text = HEAD.replace("UTF-8", "UTF-16") + track()
    assert len(read(text).route.legs) == 3


@pytest.mark.parametrize("whole", ["<!-- a drive -->", "<![CDATA[ a < b ]]>"])
def test_comments_and_quoted_text_are_let_through(whole):
    text = track().replace("<trk>", f"<trk><name>{whole}</name>")
    assert len(read(text).route.legs) == 3


def test_a_large_file_is_refused_before_anything_else(monkeypatch):
    monkeypatch.setattr(gpx, "_Parsed", lambda text: pytest.fail("it was parsed"))
    said = refused(b" " * 50_000_000)
    assert said == "drive.gpx must be at most 8 MB, got 50.0 MB"


def test_too_many_points_are_refused_before_parsing(monkeypatch):
    monkeypatch.setattr(gpx, "_Parsed", lambda text: pytest.fail("it was parsed"))
    text = OPEN + '<trkpt lat="0" lon="0"/>' * 50_001
    assert "at most 50,000 points, got 50,001" in refused(text.encode())


# All of 8 MB, and nothing that Expat would object to.
TIRING = {
    "empty tracks": (OPEN + "<trk/>" * 1_300_000 + "</gpx>", "tags, got 1,300,002"),
    "deep": (
        OPEN + "<a>" * 600_000 + "</a>" * 600_000 + "</gpx>",
        "tags, got 1,200,002",
    ),
    "name spaces": (
        "<gpx " + " ".join(f'xmlns:a{n}="{n}"' for n in range(300_000)) + "/>",
        "attributes, got 300,000",
    ),
}


@pytest.mark.parametrize(("text", "said"), TIRING.values(), ids=TIRING)
def test_what_takes_a_parser_seconds_is_refused_before_it(text, said, monkeypatch):
    monkeypatch.setattr(gpx, "_Parsed", lambda text: pytest.fail("it was parsed"))
    assert f"{said}: export the track alone" in refused(text.encode())


def test_empty_pieces_take_no_room():
    # 60,000 lists would be kept; a file of 8 MB has fifteen times as many.
    parsed = gpx._Parsed(f"{OPEN}<trk>{'<trkseg/>' * 60_000}</trk></gpx>")
    assert parsed.lines == {"trkpt": [], "rtept": []}


def test_what_a_library_reads_of_a_recorded_file_is_read_alike():
    # gpxpy builds the whole tree; points within extensions are none of the track.
    noise = "<ele>540</ele><extensions><x:trkpt lat='9' lon='9'/><time>1</time></extensions>"
    text = track(times=TIMES).replace("<time>", f"{noise}<time>", 3)
    text = text.replace("<gpx ", '<gpx xmlns:x="urn:x" ')
    text = text.replace(
        "</trkseg>",
        "</trkseg><trkseg/><trkseg>" + points([(1, 2), (1, 3)]) + "</trkseg>",
    )
    theirs = [
        [(p.latitude, p.longitude, p.time) for p in segment.points]
        for segment in gpxpy.parse(text).tracks[0].segments
        if segment.points
    ]
    ours = gpx._Parsed(text).lines["trkpt"]
    assert [
        [(p.latitude, p.longitude, p.time) for p in line] for line in ours
    ] == theirs
    assert len(theirs) == 2


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "is not a GPX file"),
        (b"\x89PNG\r\n\x1a\n\0\0", "is not text in UTF-8 or UTF-16"),
        ("<gpx>Löwe</gpx>".encode("latin-1"), "is not text in UTF-8 or UTF-16"),
        (b"\xff\xfe<", "is not text in UTF-8 or UTF-16"),
        (b"<kml></kml>", "is not a GPX file"),
        (b"{}", "is not a GPX file"),
        (track()[:-9].encode(), "is not well-formed XML"),
        (f"{OPEN}</gpx>".encode(), "at least two points, got 0"),
        (track(PLACES[:1]).encode(), "at least two points, got 1"),
        (track(PLACES[:1] * 3).encode(), "stays at one place"),
        (track([(95, 0), (0, 0)]).encode(), "outside ±90° latitude"),
        (track([(0, 0), ("nan", 0)]).encode(), "outside ±90° latitude"),
        (track([(0, 0), ("north", 0)]).encode(), "is not valid GPX"),
        ((OPEN + points(PLACES, tag="wpt") + "</gpx>").encode(), "4 waypoints"),
        (("<gpx>" + "<a>" * 200_000).encode(), "is not well-formed XML"),
    ],
    ids=[
        "empty", "a picture", "Latin-1", "half a letter", "another format", "JSON",
        "cut off", "no points", "one point", "one place", "a latitude of 95",
        "no number", "a word for a number", "waypoints", "deep",
    ],
)  # fmt: skip
def test_what_is_no_route_is_refused_in_one_sentence(data, said):
    assert said in refused(data)


def test_two_reserves_in_one_file_are_told():
    # 10.1° of latitude are 1,123 km on the mean sphere (111.195 km a degree).
    said = refused(track([(-13.1, 31.8), (-13.0, 31.8), (-3.0, 31.8)]).encode())
    assert said == (
        "drive.gpx goes 1,123 km in one line, a leg may have at most 500 km"
    )
