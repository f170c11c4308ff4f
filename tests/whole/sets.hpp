// SPDX-License-Identifier: MIT
// The demo sets for the tests of whole sets, read once, and small edits of their text: a value changed, an element
// added, one taken away.
#pragma once

#include <fstream>
#include <sstream>
#include <stdexcept>
#include <string>
#include <tubewright/tubewright.hpp>

namespace whole {

namespace tw = tubewright;

inline const std::string quarry_hill = TUBEWRIGHT_ROOT "/netlists/s1-quarry-hill.xml";
inline const std::string bellows_court = TUBEWRIGHT_ROOT "/netlists/s9-bellows-court.xml";

inline const tw::Catalogue& catalogue() {
    static const tw::Catalogue shipped = tw::Catalogue::shipped();
    return shipped;
}

inline std::string text_of(const std::string& path) {
    std::ifstream in(path, std::ios::binary);
    std::ostringstream out;
    out << in.rdbuf();
    if (!in || out.str().empty()) throw std::runtime_error("cannot read " + path);
    return out.str();
}

/// A set from its text; the notices are the message when it cannot be read.
inline tw::Chassis read(const std::string& text) {
    const tw::Outcome<tw::Chassis> set = tw::read_chassis_text(text, "edited.xml", catalogue());
    if (!set) {
        std::string why;
        for (const tw::Notice& notice : set.notices()) why += notice.text() + "\n";
        throw std::runtime_error(why);
    }
    return *set;
}

inline tw::Study study(const std::string& text, double line_volts = 0) {
    tw::Policy policy;
    policy.line.volts = tw::volts(line_volts);
    return tw::Study(read(text), catalogue(), policy);
}

/// Every edit must hit exactly once, or the test would test nothing.
inline std::string edited(std::string text, const std::string& from, const std::string& to) {
    const std::size_t at = text.find(from);
    if (at == std::string::npos || text.find(from, at + 1) != std::string::npos)
        throw std::runtime_error("not exactly once in the file: " + from);
    return text.replace(at, from.size(), to);
}

/// The whole element that carries the id.
inline std::string element(const std::string& text, const std::string& id) {
    const std::size_t at = text.find(" id=\"" + id + "\"");
    if (at == std::string::npos) throw std::runtime_error("no part " + id);
    const std::size_t start = text.rfind('<', at), end = text.find("/>", at);
    return text.substr(start, end + 2 - start);
}

inline double dc(const tw::Outcome<tw::VoltsView>& volts, const std::string& net) {
    return volts.value().at(net).dc.value();
}

}  // namespace whole
