// SPDX-License-Identifier: MIT
// What the files of the graph half share: a rule, the findings as they come, and where a lead stands in the file.
#pragma once

#include <algorithm>
#include <string>
#include <utility>
#include <vector>

#include <tubewright/audit.hpp>

#include "audit/numbers.hpp"
#include "audit/traced.hpp"

namespace tubewright::audit {

inline std::size_t at(int index) {
    return static_cast<std::size_t>(index);
}

struct Rule {
    int number;
    const char* name;
    Severity severity;
};

class Findings {
  public:
    explicit Findings(const Trace& trace) : trace_(trace) {}

    void add(const Rule& rule, const Place& place, std::vector<int> parts, std::vector<int> nets, std::string message,
             std::string look_at) {
        Finding finding;
        finding.severity = rule.severity;
        finding.number = rule.number;
        finding.rule = rule.name;
        finding.place = place;
        for (const int part : parts) finding.parts.push_back(trace_.part(part).id);
        for (const int net : nets) {
            if (net >= 0) finding.nets.push_back(trace_.net(net).name);
        }
        // two rules may doubt one value: the first says it
        if (rule.number == tw::implausible_value && std::any_of(rows_.begin(), rows_.end(), [&](const Finding& row) {
                return row.number == rule.number && row.parts == finding.parts;
            }))
            return;
        finding.message = std::move(message);
        finding.look_at = std::move(look_at);
        rows_.push_back(std::move(finding));
    }
    std::vector<Finding> take() { return std::move(rows_); }

  private:
    const Trace& trace_;
    std::vector<Finding> rows_;
};

inline const Place& place_of(const Part& part, int lead) {
    const Place& own = part.leads[at(lead)].place;
    return own.line > 0 ? own : part.place;
}

/// Supply and line: windings, chokes, first filter, the switch, the output tube's two feeds. supply_half.cpp.
void supply(const Trace& trace, const Catalogue& catalogue, Findings& findings);

/// What is open and keeps the line from the set, the line switch apart; empty when nothing does.
std::vector<int> open_on_the_way(const Trace& trace);

/// Stages of tubes: values by what they do, polarity, what never meets on one net. stages.cpp.
void stages(const Trace& trace, Findings& findings);

}  // namespace tubewright::audit
