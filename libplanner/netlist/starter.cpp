// SPDX-License-Identifier: MIT
// A starter file: the text of netlists/start for the family, with the answers to the questions about the nodes put in.
// An answer wins over the family that was named: a metal that hangs on its bus by a resistor and a capacitor, or by a
// capacitor alone, makes a series string a set with a floating B-minus, and a power transformer with a blade on the
// metal is no set to start with. Tests: tests/netlist/starter_test.cpp.
#include "netlist/starter.hpp"

#include <tubewright/netlist.hpp>

#include <algorithm>

#include "terms/near.hpp"
#include "terms/numbers.hpp"

namespace tubewright {
namespace {

std::string_view text_of(std::string_view family) {
    for (const StarterText* one = starter_texts; !one->family.empty(); ++one)
        if (one->family == family) return one->text;
    return {};
}

Notice notice(int number, Severity severity, std::string message, std::string remedy) {
    Notice made;
    made.number = number;
    made.severity = severity;
    made.message = std::move(message);
    made.remedy = std::move(remedy);
    return made;
}

void put(std::string& text, std::string_view from, std::string_view to) {
    for (std::size_t at = text.find(from); at != std::string::npos; at = text.find(from, at + to.size()))
        text.replace(at, from.size(), to);
}

/// The metal of a set that hangs by two parts, without the resistor, as an open reading has it.
void capacitor_alone(std::string& text) {
    put(text, "  <resistor id=\"R1\" value=\"220K\" a=\"bminus\" b=\"metal\"/>\n", "");
    put(text, "a capacitor\n  and a resistor.", "a capacitor\n  alone.");
    put(text, "many thousands, the resistor below", "no reading, a capacitor alone ties it");
    put(text, "only tie but R1", "only tie");
}

std::string escaped(std::string_view text) {
    std::string out;
    for (const char c : text) out += c == '&' ? "&amp;" : c == '<' ? "&lt;" : c == '"' ? "&quot;" : std::string(1, c);
    return out;
}

}  // namespace

std::vector<std::string_view> starter_families() {
    std::vector<std::string_view> families;
    for (const StarterText* one = starter_texts; !one->family.empty(); ++one) families.push_back(one->family);
    return families;
}

Outcome<std::string> starter_file(std::string_view family, const NodeAnswers& answers) {
    std::vector<Notice> notes;
    std::string wanted(family);
    if (text_of(wanted).empty())
        return notice(messages::unknown_word, Severity::error, quoted(family) + " is no family",
                      suggestion(family, starter_families()));
    const bool transformer = wanted == "ac-transformer" || wanted == "back-bias";
    if (transformer && answers.metal == MetalIs::on_the_line)
        return notice(
            messages::unknown_word, Severity::error,
            "a set with a power transformer whose metal meets a blade of the plug is faulty, or is no such set",
            "look for a line capacitor that is shorted, or for a set without a power transformer: series-string");
    if (transformer && answers.metal == MetalIs::behind_parts)
        return notice(
            messages::unknown_word, Severity::error,
            "behind a power transformer no part joins a blade to the metal: what an ohmmeter reads there is a "
            "line part that leaks, or the set has no power transformer",
            "free the line capacitors and read again; a set without a power transformer: series-string; the "
            "field or a resistor between the centre tap and the metal: back-bias");
    const bool apart = answers.metal == MetalIs::apart;
    if (wanted == "series-string" && (answers.metal == MetalIs::behind_parts || apart)) {
        notes.push_back(
            notice(messages::note_starter, Severity::note,
                   "no blade meets the metal by itself: B-minus floats, and the starter for that is written", ""));
        wanted = "floating-b-minus";
    }
    if (wanted == "floating-b-minus" && answers.metal == MetalIs::on_the_line) {
        notes.push_back(
            notice(messages::note_starter, Severity::note,
                   "a blade meets the metal: the chassis itself is B-minus and hot, and the starter for that "
                   "is written",
                   ""));
        wanted = "series-string";
    }
    if ((wanted == "doubler" || wanted == "portable") && answers.metal == MetalIs::on_the_line)
        return notice(messages::unknown_word, Severity::error,
                      "the starter of a " + wanted + " has its metal hanging on the bus by parts, and yours does not",
                      "start without the answer, then write the blade's net in <node is=\"chassis-metal\">: the "
                      "chassis is hot");
    if ((wanted == "vehicle" || wanted == "battery") && answers.metal != MetalIs::not_said)
        return notice(messages::unknown_word, Severity::error,
                      "a " + wanted + " set has no line: nothing is to be said of blades and metal",
                      "leave --metal out");
    std::string text(text_of(wanted));
    if (apart && !transformer) {
        capacitor_alone(text);
        notes.push_back(
            notice(messages::note_starter, Severity::note,
                   "an ohmmeter sees no capacitor: one alone is written between metal and B-minus; look for it, "
                   "and take C1 out if there is none",
                   ""));
    }
    put(text, "@can@", answers.can_insulated ? "yes" : "no");
    if (!answers.name.empty()) put(text, "name=\"My set\"", "name=\"" + escaped(answers.name) + "\"");
    if (answers.built) {
        const std::size_t at = text.find("built=\"");
        text.replace(at + 7, 4, std::to_string(*answers.built));
    }
    return {std::move(text), std::move(notes)};
}

}  // namespace tubewright
