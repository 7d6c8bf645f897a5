"""Whatever a route, a table or a frame holds: it is read, or one sentence says why not."""

import gzip
from pathlib import Path

import numpy as np
import wild
from hypothesis import example, given
from hypothesis import strategies as st

from lightplan.frames import read as frames
from lightplan.frames import table as frames_csv
from lightplan.frames.read import Dropped, Frame
from lightplan.loop import gpx, route

GPX = """<?xml version="1.0" encoding="UTF-8"?>
<gpx version="1.1" creator="x" xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>
<trkpt lat="-13.1" lon="31.8"><ele>540</ele><time>2027-08-12T04:00:00Z</time></trkpt>
<trkpt lat="-13.11" lon="31.8"><time>2027-08-12T04:05:00Z</time></trkpt>
<trkpt lat="-13.11" lon="31.83"><time>2027-08-12T04:15:00.5+02:00</time></trkpt>
</trkseg></trk><rte><rtept lat="-13.1" lon="31.8"/><rtept lat="-13.2" lon="31.8"/></rte>
</gpx>
"""
CSV = """time,f-number,shutter,ISO,date,compensation,UTC offset,flash,group
06:10:05,6.3,1/1250,6400,2027-08-12,-0.7,+02:00,no,forest
2027-08-12 06:11,f/6.3,0.0008 s,ISO 3200,,+1/3,,,"river, west"
2027-08-12T06:12:00Z;5,6;1/500;800
"""
XML_SIGNS = [
    *"<>&\"'/=",
    "]]>",
    "<!--",
    "<!ENTITY a 'a'>",
    "&a;",
    "nan",
    "1e309",
    "-",
    "9",
]
CSV_SIGNS = [*',;"\t\n\r:/-+.T', "1/0", "1e309", "nan", "f/", "−0,7", "\x00", "=1+1"]

# What real cameras wrote; tests/data/README.md tells where from.
DATA = Path(__file__).parents[1] / "data" / "frames"
HEADERS = {
    "a.jpg": (DATA / "phone.jpg").read_bytes(),
    "a.tif": (DATA / "raw.cr2").read_bytes(),
    "a.heic": gzip.decompress((DATA / "still.hif.gz").read_bytes()),
}


def utf8(text: str) -> bytes:
    return text.encode("utf-8", "replace")


@wild.cases(150)
@given(wild.struck(GPX, XML_SIGNS).map(utf8) | st.binary(max_size=200))
@example(GPX.encode("utf-16"))
@example(GPX.replace("-13.11", "-13.11\x7f").encode())
@example(GPX.replace("-13.11", "٣").encode())
def test_a_damaged_route_is_legs_or_one_sentence(data):
    said = []
    try:
        read = gpx.read(data, "mine.gpx")
        said += read.notes
    except ValueError as error:
        said.append(str(error))
    else:  # the page writes it into its field
        assert route.read_legs(route.write_legs(read.route)).legs
    assert said
    assert all(map(wild.is_one_sentence, said)), said


@wild.cases(150)
@given(wild.struck(CSV, CSV_SIGNS).map(utf8) | st.binary(max_size=200))
def test_a_damaged_table_is_frames_and_reasons_or_one_sentence(data):
    said = ""
    try:
        read = frames_csv.read_bytes(data, "mine.csv")
    except ValueError as error:
        said = str(error)
    if said:
        assert wild.is_one_sentence(said), said
        return
    assert all(map(is_evidence, read.frames))
    assert all(wild.is_one_sentence(dropped.reason) for dropped in read.dropped)


@wild.cases(150)
@given(
    name=st.sampled_from(sorted(HEADERS)),
    edits=st.lists(
        st.tuples(st.integers(-1000, 3000), st.binary(min_size=1, max_size=8)),
        max_size=6,
    ),
    kept=st.integers(0, 3000) | st.none(),
)
@example(name="a.jpg", edits=[], kept=None)
@example(name="a.tif", edits=[], kept=None)
@example(name="a.heic", edits=[], kept=None)
def test_a_damaged_header_is_an_exposure_or_one_sentence(name, edits, kept):
    data = bytearray(HEADERS[name])
    for at, written in edits:
        at %= len(data)
        data[at : at + len(written)] = written
    read = frames.read_bytes(bytes(data[:kept]), name)
    if isinstance(read, Dropped):
        assert wild.is_one_sentence(read.reason), read.reason
    else:
        assert is_evidence(read)
    if not edits and kept is None:
        assert isinstance(read, Frame)


def is_evidence(frame: Frame) -> bool:
    """Tell whether a frame's numbers are ones to reckon with."""
    _, _, _, f_number, shutter_s, iso, compensation, *_ = frame.exposure
    positive = min(f_number, shutter_s, iso) > 0
    return positive and bool(
        np.isfinite([f_number, shutter_s, iso, compensation]).all()
    )
