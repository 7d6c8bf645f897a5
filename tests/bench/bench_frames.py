"""How fast headers are read. By hand: python tests/bench/bench_frames.py [frames].

Frames of 2 MB, JPEG and TIFF in turn, each written once and then linked to under
many names; figures are of this machine and of files that are in its cache.
"""

import io
import os
import resource
import sys
import tempfile
import time
import tracemalloc
from pathlib import Path

from PIL import Image
from PIL.TiffImagePlugin import IFDRational

from lightplan.frames import read as frames

PIXELS = bytes(2_000_000)  # behind the header, where nothing should look


def written(kind):
    exif = Image.Exif()
    exif.get_ifd(0x8769).update(
        {
            0x9003: "2025:08:12 17:34:05",
            0x9011: "+02:00",
            0x829D: IFDRational(63, 10),
            0x829A: IFDRational(1, 1250),
            0x8827: 3200,
            0x9209: 16,
            0x927C: bytes(30_000),  # a maker's own block, as long as they are
        }
    )
    file = io.BytesIO()
    Image.new("L", (8, 8)).save(file, kind, exif=exif.tobytes())
    return file.getvalue() + PIXELS


def fill(root, count):
    sources = []
    for kind, ending in (("JPEG", "jpg"), ("TIFF", "tif")):
        source = root.parent / f"source.{ending}"
        source.write_bytes(written(kind))
        sources.append(source)
    for i in range(count):
        folder = root / f"{i // 1000:03}"
        folder.mkdir(parents=True, exist_ok=True)
        source = sources[i % 2]
        os.link(source, folder / f"{i:05}{source.suffix}")


def main(count):
    with tempfile.TemporaryDirectory() as temporary:
        root = Path(temporary) / "frames"
        fill(root, count)
        before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
        start = time.perf_counter()
        reading = frames.read_folder(root)
        spent = time.perf_counter() - start
        after = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
        assert len(reading.frames) == count, frames.account(reading.dropped)
        print(f"{count} files: {spent:.2f} s, {count / spent:.0f} files per second")
        print(
            f"peak memory of the process: {after / 1024:.0f} MB, before {before / 1024:.0f}"
        )
        tracemalloc.start()
        frames.read_folder(root / "000")
        print(
            f"Python's own peak over 1000 files: {tracemalloc.get_traced_memory()[1] / 1e6:.1f} MB"
        )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 10_000)
