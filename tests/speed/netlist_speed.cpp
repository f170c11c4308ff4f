// SPDX-License-Identifier: MIT
// How long a chassis file takes to read, beside pugixml alone on the same bytes: time an element, from a demo set's
// size to 450,000 elements (a file has 500,000 at most), good files and files in which every line is wrong. Never a
// timed test.
#include <benchmark/benchmark.h>

#include <algorithm>
#include <memory>
#include <pugixml.hpp>
#include <string>

#include <tubewright/netlist.hpp>

namespace {

using namespace tubewright;

const Catalogue& catalogue() {
    static const Catalogue shipped = Catalogue::shipped();
    return shipped;
}

/// Stages of a socket and nine parts, ten lines each, as a hand would write them.
std::string stages(std::size_t elements) {
    std::string text =
        "<chassis version=\"1\" name=\"stages\" reference=\"gnd\" m-means=\"thousand\">\n"
        "  <node is=\"chassis-metal\" net=\"gnd\"/>\n";
    for (std::size_t i = 0; i < elements / 10; ++i) {
        const std::string n = std::to_string(i), v = "V" + n;
        text += "  <socket id=\"" + v + "\" tube=\"6J7\" location=\"stage " + n + "\"/>\n";
        text += "  <join at=\"gnd " + v + ".1 " + v + ".2\"/>\n";
        text += "  <resistor id=\"R" + n + "1\" value=\"250M\" watts=\"1/2\" a=\"bplus\" b=\"" + v + ".3\"/>\n";
        text += "  <resistor id=\"R" + n + "2\" value=\"1 meg\" watts=\"1/2\" a=\"bplus\" b=\"" + v + ".4\"/>\n";
        text +=
            "  <resistor id=\"R" + n + "3\" value=\"3M\" watts=\"1/2\" a=\"" + v + ".8\" b=\"gnd\" seen=\"burnt\"/>\n";
        text += "  <resistor id=\"R" + n + "4\" value=\"500M\" watts=\"1/4\" a=\"" + v + ".cap\" b=\"gnd\"/>\n";
        text +=
            "  <capacitor id=\"C" + n + "1\" value=\".02 mfd\" volts=\"400\" a=\"" + v + ".3\" b=\"out" + n + "\"/>\n";
        text += "  <capacitor id=\"C" + n + "2\" value=\".1 mfd\" volts=\"400\" a=\"" + v +
                ".4\" b=\"gnd\" seen=\"waxy\"/>\n";
        text += "  <capacitor id=\"C" + n + "3\" value=\"10-25\" plus=\"" + v + ".8\" minus=\"gnd\" since=\"1956\"/>\n";
        text += "  <wire id=\"W" + n + "\" from=\"" + v + ".5\" to=\"" + v + ".8\" construction=\"rubber\"/>\n";
    }
    return text + "</chassis>\n";
}

/// The same with a wrong value, a wrong attribute or a wrong element on every line.
std::string wrong(std::size_t elements) {
    std::string text = "<chassis version=\"1\" name=\"wrong\" reference=\"gnd\">\n";
    for (std::size_t i = 0; i < elements / 3; ++i) {
        const std::string n = std::to_string(i);
        text += "  <resistr id=\"R" + n + "\" a=\"gnd\" b=\"k\"/>\n";
        text += "  <resistor id=\"R" + n + "\" valeu=\"1k\" a=\"X" + n + ".1\" b=\"k\"/>\n";
        text += "  <capacitor id=\"C" + n + "\" value=\"0,05\" a=\"gnd\" b=\"k\"/>\n";
    }
    return text + "</chassis>\n";
}

void finish(benchmark::State& state, const std::string& text) {
    const auto elements = static_cast<double>(std::count(text.begin(), text.end(), '\n'));
    state.SetBytesProcessed(static_cast<std::int64_t>(text.size()) * state.iterations());
    state.counters["s/element"] =
        benchmark::Counter(elements, benchmark::Counter::kIsIterationInvariantRate | benchmark::Counter::kInvert);
}

void read_good(benchmark::State& state) {
    const std::string text = stages(static_cast<std::size_t>(state.range(0)));
    for (auto _ : state) {
        const Outcome<Chassis> set = read_chassis_text(text, "stages.xml", catalogue());
        if (!set) state.SkipWithError(set.notices().front().text().c_str());
    }
    finish(state, text);
}
BENCHMARK(read_good)->Arg(100)->Arg(1000)->Arg(10000)->Arg(100000)->Arg(450000)->Unit(benchmark::kMicrosecond);

void pugixml_alone(benchmark::State& state) {
    const std::string text = stages(static_cast<std::size_t>(state.range(0)));
    for (auto _ : state) {
        const std::unique_ptr<char[]> buffer(new char[text.size()]);
        std::copy(text.begin(), text.end(), buffer.get());
        pugi::xml_document document;
        const pugi::xml_parse_result result = document.load_buffer_inplace(
            buffer.get(), text.size(), pugi::parse_escapes | pugi::parse_wconv_attribute, pugi::encoding_utf8);
        if (!result) state.SkipWithError(result.description());
    }
    finish(state, text);
}
BENCHMARK(pugixml_alone)->Arg(100)->Arg(1000)->Arg(10000)->Arg(100000)->Arg(450000)->Unit(benchmark::kMicrosecond);

void read_wrong(benchmark::State& state) {
    const std::string text = wrong(static_cast<std::size_t>(state.range(0)));
    for (auto _ : state) {
        const Outcome<Chassis> set = read_chassis_text(text, "wrong.xml", catalogue());
        if (set) state.SkipWithError("read without an error");
    }
    finish(state, text);
}
BENCHMARK(read_wrong)->Arg(1000)->Arg(10000)->Arg(100000)->Unit(benchmark::kMicrosecond);

}  // namespace

BENCHMARK_MAIN();
