#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Each check of check_layers.py can fail: a small sound tree passes them all, and one wrong line in it is found by the check
that is there for it, and by no other."""

import tempfile
import unittest
from pathlib import Path

import check_layers

MIT = "// SPDX-License-Identifier: MIT\n"
SOUND = {
    "libplanner/layers.csv": "layer,module,libraries,headers\n0,terms,fmt,outcome.hpp\n1,circuit,klu,\n1,policy,,policy.hpp\n"
                             "2,chassis,boost,chassis.hpp\n3,netlist,pugixml,netlist.hpp\n9,plan,,study.hpp\n11,cli,fmt,\n",
    "libplanner/include/tubewright/outcome.hpp": MIT + "// Outcomes.\n#pragma once\n#include <string>\n",
    "libplanner/include/tubewright/policy.hpp": MIT + "// Settings.\n#pragma once\n#include <tubewright/outcome.hpp>\n",
    "libplanner/include/tubewright/chassis.hpp": MIT + "// A set.\n#pragma once\n#include <tubewright/policy.hpp>\n",
    "libplanner/include/tubewright/netlist.hpp": MIT + "// The file.\n#pragma once\n#include <tubewright/chassis.hpp>\n",
    "libplanner/include/tubewright/study.hpp": MIT + "// All.\n#pragma once\n#include <tubewright/chassis.hpp>\n",
    "libplanner/include/tubewright/tubewright.hpp": MIT + "// The door.\n#pragma once\n" + "".join(
        f"#include <tubewright/{x}.hpp>\n" for x in ("outcome", "policy", "chassis", "netlist", "study")),
    "libplanner/terms/numbers.hpp": MIT + "// Numbers.\n#pragma once\ninline constexpr int cannot_open = 1001;\ninline constexpr int file_empty = 1003;\n",
    "libplanner/terms/say.cpp": MIT + "// Says quantities; TW1001 stands in its example.\n#include <fmt/core.h>\n#include \"terms/numbers.hpp\"\n",
    "libplanner/circuit/circuit.hpp": MIT + "// Nodes.\n#pragma once\n#include <vector>\n",
    "libplanner/circuit/circuit.cpp": MIT + "#include \"circuit/circuit.hpp\"\n#include <klu.h>\n#include \"terms/numbers.hpp\"\n",
    "libplanner/chassis/graph.cpp": MIT + "// The graph.\n#include <boost/graph/adjacency_list.hpp>\n#include <tubewright/chassis.hpp>\n",
    "libplanner/plan/study.cpp": MIT + "// The study.\n#include <tubewright/study.hpp>\n",
    "cli/main.cpp": MIT + "// The program.\n#include <tubewright/study.hpp>\n#include <tubewright/netlist.hpp>\n#include <unistd.h>\n",
    "tests/circuit/circuit_test.cpp": MIT + "#include <catch2/catch.hpp>\n#include \"circuit/circuit.hpp\"\n",
    "netlists/a.xml": "<!-- SPDX-License-Identifier: CC0-1.0 -->\n<chassis/>\n",
    "DEVELOPERS.md": "<!-- SPDX-License-Identifier: MIT -->\n| TW1001 | `cannot_open` | x |\n| TW1003 | `file_empty` | x |\n",
    "LICENSE": "words\n",
}


class Structure(unittest.TestCase):
    def setUp(self):
        self.folder = tempfile.TemporaryDirectory()
        self.root = Path(self.folder.name).resolve()
        for name, text in SOUND.items():
            self.write(name, text)

    def tearDown(self):
        self.folder.cleanup()

    def write(self, name, text):
        path = self.root / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")

    def add(self, name, text):
        self.write(name, (self.root / name).read_text(encoding="utf-8") + text)

    def breaches(self, names=None):
        table = check_layers.Table(self.root)
        return {n: found for n in (names or check_layers.CHECKS) if (found := check_layers.CHECKS[n](self.root, table))}

    def only(self, check, words):
        """The breach is found by `check` alone, in these words."""
        found = self.breaches([n for n in check_layers.CHECKS if n != "headers" or check == "headers"])
        self.assertEqual(list(found), [check], found)
        self.assertTrue(any(words in line for line in found[check]), found)

    def test_a_sound_tree_passes(self):
        self.assertEqual(self.breaches(), {})

    def test_an_include_upward_is_found(self):
        self.add("libplanner/circuit/circuit.cpp", "#include <tubewright/study.hpp>\n")
        self.only("layers", "circuit (layer 1) may not include tubewright/study.hpp: plan is on layer 9")

    def test_an_include_of_a_neighbour_is_found(self):
        self.add("libplanner/circuit/circuit.cpp", "#include <tubewright/policy.hpp>\n")
        self.only("layers", "policy is on layer 1")

    def test_an_upward_include_in_a_public_header_is_found(self):
        self.add("libplanner/include/tubewright/policy.hpp", "#include <tubewright/study.hpp>\n")
        self.only("layers", "policy (layer 1) may not include")

    def test_an_upward_include_in_a_test_of_a_module_is_found(self):
        self.add("tests/circuit/circuit_test.cpp", "#include <tubewright/chassis.hpp>\n")
        self.only("layers", "chassis is on layer 2")

    def test_an_outside_library_in_the_wrong_module_is_found(self):
        self.add("libplanner/plan/study.cpp", "#include <nlohmann/json.hpp>\n")
        self.only("layers", "plan may not see the library json")

    def test_an_unlisted_outside_library_is_found(self):
        self.add("libplanner/plan/study.cpp", "#include <zlib.h>\n")
        self.only("layers", "<zlib.h> is neither standard")

    def test_an_outside_type_in_a_public_header_is_found(self):
        self.add("libplanner/include/tubewright/chassis.hpp", "#include <boost/optional.hpp>\n")
        self.only("layers", "a public header shows no outside type")

    def test_a_module_that_reads_files_is_found(self):
        self.add("libplanner/plan/study.cpp", "#include <tubewright/netlist.hpp>\n")
        self.only("layers", "netlist is not for modules")

    def test_the_umbrella_inside_the_library_is_found(self):
        self.add("libplanner/plan/study.cpp", "#include <tubewright/tubewright.hpp>\n")
        self.only("layers", "umbrella")

    def test_a_module_that_the_table_lacks_is_found(self):
        self.write("libplanner/wiring/wiring.cpp", MIT + "// Wires.\n")
        self.only("layers", "wiring does not stand in layers.csv")

    def test_a_header_that_needs_another_is_found(self):
        self.add("libplanner/include/tubewright/policy.hpp", "inline std::vector<int> years;\n")
        self.only("headers", "does not compile by itself")

    def test_too_many_headers_are_found(self):
        for number in range(21):
            self.write(f"libplanner/include/tubewright/h{number}.hpp", MIT + "// One more.\n#pragma once\n")
        self.assertTrue(any("public headers, at most 20" in x for x in self.breaches(["headers"])["headers"]))

    def test_a_long_header_is_found(self):
        self.add("libplanner/include/tubewright/policy.hpp", "// more\n" * 250)
        self.only("headers", "lines, at most")

    def test_a_header_outside_the_umbrella_is_found(self):
        self.write("libplanner/include/tubewright/tubewright.hpp", MIT + "// The door.\n#pragma once\n")
        self.only("headers", "does not include it")

    def test_a_drawer_for_odds_and_ends_is_found(self):
        self.write("libplanner/plan/string_" + "utils.hpp", MIT + "// Strings.\n#pragma once\n")
        self.only("names", "says nothing")

    def test_a_camel_file_name_is_found(self):
        self.write("libplanner/plan/StudyParts.hpp", MIT + "// Parts.\n#pragma once\n")
        self.only("names", "snake case")

    def test_a_missing_licence_is_found(self):
        self.write("libplanner/plan/order.hpp", "// Order.\n// More.\n#pragma once\n")
        self.only("licence", "no SPDX line")

    def test_a_set_under_the_wrong_licence_is_found(self):
        self.write("netlists/b.xml", "<!-- SPDX-License-Identifier: MIT -->\n<chassis/>\n")
        self.only("licence", "CC0-1.0")

    def test_a_number_given_twice_is_found(self):
        self.add("libplanner/terms/numbers.hpp", "inline constexpr int not_xml = 1003;\n")
        self.only("messages", "share the number 1003")

    def test_a_number_that_is_not_listed_is_found(self):
        self.add("libplanner/terms/numbers.hpp", "inline constexpr int not_xml = 1004;\n")
        self.only("messages", "TW1004 (not_xml) does not stand")

    def test_a_listed_number_without_code_is_found(self):
        self.add("DEVELOPERS.md", "| TW1009 | `gone` | x |\n")
        self.only("messages", "append-only")

    def test_a_number_with_another_name_is_found(self):
        self.write("DEVELOPERS.md", SOUND["DEVELOPERS.md"].replace("file_empty", "file_void"))
        self.only("messages", "calls TW1003 file_void")

    def test_a_number_written_out_is_found(self):
        self.add("libplanner/plan/study.cpp", "void f(int& number) { number = 1001; }\n")
        self.only("messages", "written out")

    def test_a_number_written_out_in_a_notice_is_found(self):
        self.add("libplanner/plan/study.cpp", 'Notice f() { return Notice{1001, Severity::error, {}, "x", ""}; }\n')
        self.only("messages", "written out")

    def test_a_number_that_two_modules_give_is_found(self):
        self.write("libplanner/plan/numbers.hpp", MIT + "// Numbers.\n#pragma once\ninline constexpr int cannot_plan = 1003;\n")
        self.only("messages", "share the number 1003")

    def test_an_invented_number_in_a_comment_is_found(self):
        self.add("libplanner/plan/study.cpp", "// see TW" + "4711\n")
        self.only("messages", "TW4711 is no message number")

    def test_unfinished_work_is_found(self):
        self.add("libplanner/plan/study.cpp", "// TO" + "DO later\n")
        self.only("words", "unfinished")

    def test_a_path_of_one_machine_is_found(self):
        self.add("DEVELOPERS.md", "see /ho" + "me/someone/notes\n")
        self.only("words", "a path of one machine")

    def test_a_banned_call_is_found(self):
        self.add("libplanner/plan/study.cpp", "double f(const char* s) { return std::strtod(s, nullptr); }\n")
        self.only("words", "locale")

    def test_a_stranger_at_the_top_is_found(self):
        self.write("notes.md", "<!-- SPDX-License-Identifier: MIT -->\n")
        self.only("top", "does not belong at the top")

    def test_a_file_without_a_contract_is_found(self):
        self.write("libplanner/plan/order.cpp", MIT + "#include <vector>\n")
        self.only("top", "no contract")


if __name__ == "__main__":
    unittest.main()
