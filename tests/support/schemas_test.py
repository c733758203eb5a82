#!/usr/bin/env python3
"""The schema files and their checker refuse what does not fit, and nobody prints what no file is for.

usage: schemas_test.py TOP"""
import pathlib
import re
import sys
import unittest

sys.dont_write_bytecode = True
from schemas import FOLDER, held, misfits, schema_of  # noqa: E402

TOP = pathlib.Path(sys.argv.pop(1))
STORED = {"batch-file", "certificate", "calibration"}  # files that the program reads again: their readers hold them


class Schemas(unittest.TestCase):
    def test_each_file_refuses_what_lacks_a_member_or_has_it_of_another_kind(self):
        for file in FOLDER.glob("*.schema.json"):
            schema = schema_of(file.name.removesuffix(".schema.json"))
            self.assertTrue(schema["required"], file.name)
            self.assertEqual(len(misfits({}, schema, schema)), len(schema["required"]), file.name)
            self.assertTrue(misfits([], schema, schema), file.name)
            self.assertTrue(misfits({"schema": "dropledger/nothing/1"}, schema["properties"] and
                                    {"properties": {"schema": schema["properties"]["schema"]}}, schema), file.name)

    def test_what_a_file_asks_for_it_describes(self):
        def walk(schema, path):
            if isinstance(schema, dict):
                if isinstance(schema.get("properties"), dict) and isinstance(schema.get("required"), list):
                    self.assertEqual(sorted(set(schema["required"]) - set(schema["properties"])), [], path)
                for key, inner in schema.items():
                    walk(inner, f"{path}/{key}")
            elif isinstance(schema, list):
                for at, inner in enumerate(schema):
                    walk(inner, f"{path}/{at}")
        for file in FOLDER.glob("*.schema.json"):
            walk(schema_of(file.name.removesuffix(".schema.json")), file.name)

    def test_keywords(self):
        for schema, good, bad in (({"type": "integer"}, 1, 1.5), ({"type": "number"}, 1.5, True),
                                  ({"minimum": 0, "maximum": 1}, 1, 1.0000000001), ({"enum": ["a"]}, "a", "b"),
                                  ({"items": {"type": "string"}}, ["a"], ["a", None]), ({"minItems": 1}, [1], []),
                                  ({"required": ["a"]}, {"a": 1}, {}), ({"additionalProperties": False}, {}, {"a": 1}),
                                  ({"properties": {"a": {}}}, {"a": 1}, {"a": 1, "b": 1}),
                                  ({"$ref": "audit.schema.json#/$defs/estimate"},
                                   dict(value=1, low=None, high=None, confidence=0.95, method="", no_interval=None),
                                   dict(value=1, low=None, high=None, confidence=0.95, method="")),
                                  ({"anyOf": [{"type": "null"}, {"type": "string"}]}, None, 5)):
            self.assertEqual(misfits(good, schema, schema), [], schema)
            self.assertTrue(misfits(bad, schema, schema), schema)

    def test_an_output_without_a_file_is_refused(self):
        with self.assertRaises(AssertionError):
            held('{"schema": "dropledger/something-new/1"}')

    def test_each_schema_name_of_the_program_has_a_file_and_each_file_a_name(self):
        names = []
        for source in [*TOP.glob("bench/**/*.cpp"), *TOP.glob("analysis/**/*.cpp"), *TOP.glob("calibration/**/*.cpp")]:
            names += re.findall(r'"dropledger/([a-z-]+)/[0-9]+"', source.read_text())
        files = {file.name.removesuffix(".schema.json") for file in FOLDER.glob("*.schema.json")}
        self.assertEqual(set(names) - STORED, files)
        self.assertEqual(sorted(name for name in names if names.count(name) > 1 and name not in STORED), [],
                         "a name that two places print")

    def test_each_file_takes_its_own_name_only(self):
        for file in FOLDER.glob("*.schema.json"):
            name = file.name.removesuffix(".schema.json")
            [own] = schema_of(name)["properties"]["schema"]["enum"]
            self.assertRegex(own, f"^dropledger/{name}/[1-9][0-9]*$")


unittest.main(argv=sys.argv[:1])
