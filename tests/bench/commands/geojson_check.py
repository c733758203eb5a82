"""What RFC 7946 asks of a GeoJSON text; faults as sentences, none where it holds. Written from the RFC's sections named
beside each check."""
import decimal
import json

DEPTH = {"Point": 0, "MultiPoint": 1, "LineString": 1, "MultiLineString": 2, "Polygon": 2, "MultiPolygon": 3}
MOST_DECIMALS = 7  # 11.2 advises against more than is meant: 1e-7 degrees are a centimetre


class Checker:
    def __init__(self):
        self.faults = []

    def fault(self, where, what):
        self.faults.append(f"{where}: {what}")

    def number(self, where, value, most):
        if not isinstance(value, (int, decimal.Decimal)) or isinstance(value, bool):
            return self.fault(where, "is no number")
        if abs(value) > most:
            self.fault(where, f"{value} is beyond {most}: longitude comes first")  # 3.1.1, 4
        if -decimal.Decimal(value).as_tuple().exponent > MOST_DECIMALS:
            self.fault(where, f"{value} has more than {MOST_DECIMALS} decimals")

    def position(self, where, at):
        if not isinstance(at, list) or not 2 <= len(at) <= 3:  # 3.1.1
            return self.fault(where, "is no position of two or three numbers")
        self.number(f"{where}[0]", at[0], 180)
        self.number(f"{where}[1]", at[1], 90)

    def line(self, where, line, least=2):  # 3.1.4
        if len(line) < least:
            return self.fault(where, f"has {len(line)} positions, {least} are needed")
        for i, (a, b) in enumerate(zip(line, line[1:])):
            if abs(a[0] - b[0]) > 180:  # 3.1.9
                self.fault(f"{where}[{i}]", "crosses the antimeridian uncut")

    def ring(self, where, ring, outer):  # 3.1.6
        self.line(where, ring, 4)
        if ring and ring[0] != ring[-1]:
            return self.fault(where, "is not closed")
        area = sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(ring, ring[1:]))
        if (area > 0) != outer:
            self.fault(where, "breaks the right-hand rule")

    def coordinates(self, where, value, depth):
        if depth == 0:
            return self.position(where, value)
        if not isinstance(value, list):
            return self.fault(where, "is no array")
        for i, one in enumerate(value):
            self.coordinates(f"{where}[{i}]", one, depth - 1)

    def geometry(self, where, geometry):
        kind = geometry.get("type")
        for foreign in ("geometry", "properties", "features"):  # 7.1
            if foreign in geometry:
                self.fault(where, f"holds {foreign}")
        if kind == "GeometryCollection":  # 3.1.8
            for i, one in enumerate(geometry.get("geometries", [])):
                self.geometry(f"{where}.geometries[{i}]", one)
            return
        if kind not in DEPTH:  # 1.4
            return self.fault(where, f"type {kind} is no geometry")
        before = len(self.faults)
        at = geometry.get("coordinates")
        self.coordinates(f"{where}.coordinates", at, DEPTH[kind])
        if len(self.faults) > before:
            return
        for line in [at] if kind == "LineString" else at if kind == "MultiLineString" else []:
            self.line(where, line)
        for polygon in [at] if kind == "Polygon" else at if kind == "MultiPolygon" else []:
            for i, ring in enumerate(polygon):
                self.ring(where, ring, i == 0)

    def bbox(self, where, box):  # 5
        if not isinstance(box, list) or len(box) not in (4, 6):
            return self.fault(where, "bbox has not four or six numbers")
        half = len(box) // 2
        if box[1] > box[half + 1]:
            self.fault(where, "bbox: south is north of north")

    def feature(self, where, feature):  # 3.2
        if feature.get("type") != "Feature":
            return self.fault(where, "is no Feature")
        for foreign in ("coordinates", "geometries", "features"):  # 7.1
            if foreign in feature:
                self.fault(where, f"holds {foreign}")
        if "geometry" not in feature or "properties" not in feature:
            self.fault(where, "lacks geometry or properties")
        if not isinstance(feature.get("properties"), (dict, type(None))):
            self.fault(where, "properties are no object")
        if isinstance(feature.get("id", ""), (list, dict, bool)):
            self.fault(where, "id is neither text nor number")
        if feature.get("geometry") is not None:
            self.geometry(f"{where}.geometry", feature["geometry"])

    def whole(self, value):
        if value.get("type") != "FeatureCollection":
            return self.fault("text", "is no FeatureCollection")
        if "crs" in value:  # 4
            self.fault("text", "names a coordinate system; RFC 7946 has one only")
        if not isinstance(value.get("features"), list):  # 3.3
            return self.fault("text", "has no features")
        for box, where in [(value["bbox"], "text")] if "bbox" in value else []:
            self.bbox(where, box)
        for i, feature in enumerate(value["features"]):
            self.feature(f"features[{i}]", feature)
            if "bbox" in feature:
                self.bbox(f"features[{i}]", feature["bbox"])


def faults(text):
    def refused(name):
        raise ValueError(f"{name} is no JSON")

    try:
        value = json.loads(text, parse_float=decimal.Decimal, parse_constant=refused)
    except ValueError as wrong:
        return [str(wrong)]
    checker = Checker()
    checker.whole(value)
    return checker.faults
