#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""The comparison with approved answers can fail: a changed figure, a lost key and a changed kind are each seen."""
import json
import pathlib
import sys
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent))
import approved  # noqa: E402


class TheComparison(unittest.TestCase):
    def test_same_text_is_no_difference(self):
        self.assertEqual(approved.differences("volts.txt", "248 V\n", "248 V\n"), [])

    def test_a_changed_figure_is_seen(self):
        self.assertTrue(approved.differences("volts.txt", "248 V\n", "249 V\n"))

    def test_a_lost_line_is_seen(self):
        self.assertTrue(approved.differences("volts.txt", "248 V\n16 V\n", "248 V\n"))

    def test_keys_do_not_hang_on_figures(self):
        self.assertEqual(approved.keys_of(json.loads('{"rows": [{"dc_volts": 1.5}]}')), approved.keys_of(json.loads('{"rows": [{"dc_volts": 2}, {"dc_volts": 7.25}]}')))

    def test_a_lost_key_and_a_changed_kind_are_seen(self):
        whole = approved.keys_of({"rows": [{"dc_volts": 1.5, "net": "bplus"}]})
        self.assertNotEqual(whole, approved.keys_of({"rows": [{"net": "bplus"}]}))
        self.assertNotEqual(whole, approved.keys_of({"rows": [{"dc_volts": "1.5", "net": "bplus"}]}))
        self.assertEqual(whole, "rows[].dc_volts: number\nrows[].net: text\n")

    def test_every_demo_set_is_asked(self):
        self.assertIn("s1", [short for short, _ in approved.sets()])
        self.assertIn("s9", [short for short, _ in approved.sets()])


if __name__ == "__main__":
    unittest.main()
