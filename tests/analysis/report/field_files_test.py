#!/usr/bin/env python3
"""What the field audit writes for other programs, read by GDAL, which shares no code with it."""
import csv
import json
import pathlib
import subprocess
import sys
import tempfile
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[2] / "support"))
from schemas import held  # noqa: E402

DROPLEDGER, OGRINFO, OGR2OGR = sys.argv[1:4]


def run(*words):
    return subprocess.run([*map(str, words)], capture_output=True, text=True, timeout=120)


class FieldFiles(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.kept = tempfile.TemporaryDirectory()
        cls.folder = pathlib.Path(cls.kept.name)
        night = cls.folder / "night.csv"
        assert run(DROPLEDGER, "simulate", "--field", night, "--seed", 4).returncode == 0
        files = [word for kind in ("geojson", "gpx", "kml", "csv") for word in (f"--{kind}", cls.folder / f"walk.{kind}")]
        done = run(DROPLEDGER, "field", night, *files, "--json")
        assert done.returncode in (0, 1, 2), done.stderr
        cls.audit = held(done.stdout)
        cls.stops = list(csv.DictReader((cls.folder / "walk.csv").read_text().splitlines()))

    @classmethod
    def tearDownClass(cls):
        cls.kept.cleanup()

    def said(self, *words):
        done = run(OGRINFO, "-ro", *words)
        self.assertEqual((done.returncode, done.stderr), (0, ""))
        return done.stdout

    def counted(self, file, layer):
        lines = self.said("-so", self.folder / file, layer).splitlines()
        return int(next(one for one in lines if one.startswith("Feature Count:")).split(":")[1])

    def turned(self, file, *words):
        """Its features as GDAL writes them itself."""
        out = self.folder / f"{file}.out.geojson"
        out.unlink(missing_ok=True)
        done = run(OGR2OGR, "-f", "GeoJSON", out, self.folder / file, *words)
        self.assertEqual((done.returncode, done.stderr), (0, ""))
        return json.loads(out.read_text())["features"]

    def test_geojson_holds_passes_gaps_and_alerts(self):
        written = json.loads((self.folder / "walk.geojson").read_text())["features"]
        self.assertGreater(len(written), 1000)
        turned = self.turned("walk.geojson")
        self.assertEqual(len(turned), len(written))
        self.assertEqual([one["geometry"]["type"] for one in turned], [one["geometry"]["type"] for one in written])

    def test_gpx_is_way_points_in_walking_order_a_route_and_the_gaps(self):
        self.assertGreater(len(self.stops), 2)
        self.assertEqual(self.counted("walk.gpx", "waypoints"), len(self.stops))
        self.assertEqual(self.counted("walk.gpx", "routes"), 1)
        self.assertEqual(self.counted("walk.gpx", "tracks"), len(self.stops))
        points = self.turned("walk.gpx", "waypoints")
        for point, stop in zip(points, self.stops):
            self.assertEqual(point["properties"]["name"], stop["name"])
            lon, lat = point["geometry"]["coordinates"][:2]
            self.assertAlmostEqual(lat, float(stop["from_lat"]), places=6)
            self.assertAlmostEqual(lon, float(stop["from_lon"]), places=6)

    def test_kml_has_a_named_mark_for_each_stop(self):
        marks = self.turned("walk.kml")
        self.assertEqual([one["properties"]["Name"] for one in marks], [one["name"] for one in self.stops])


unittest.main(argv=sys.argv[:1])
