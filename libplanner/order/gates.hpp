// SPDX-License-Identifier: MIT
// Gates of the stages: what must be true before each, as boxes to sign without a log, and with one what it proves. The
// checker of the rules judges where there are deeds to judge by.
//
//     const Gates gates(set);
//     stage.gate = gates.gate({{"H5", set.line_parts}, {"H17"}}, ActKind::power_b_plus);
//     gates.in_their_order(sheet.stages);
//
// Tests: tests/order/power_up_test.cpp, tests/cli/log_test.cpp.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include <tubewright/order.hpp>

#include "order/held.hpp"
#include "order/set_on_bench.hpp"

namespace tubewright::power_up {

/// What opens a gate. parts: each new, proved or left out on purpose (none: nothing to ask); without parts, the rule
/// itself must be passed.
struct Need {
    std::string rule;
    std::optional<std::vector<std::string>> parts = {};
    std::string words = {};     ///< instead of the rule's own, where the stage itself does what the rule asks for
    bool discharged = false;    ///< asks for an empty set
    std::string readings = {};  ///< what the readings in the log lack, or say against it
};

class Gates {
  public:
    explicit Gates(const SetOnBench& set) : set_(set), changes_(set.chassis, set.catalogue, set.progress) {}
    bool logged() const;
    /// next: what the stage does.
    Gate gate(const std::vector<Need>& needs, ActKind next) const;
    /// What is passed; which stages under power wait for others; what came out of its socket in between; and what is
    /// not told because a gate before it is shut.
    void in_their_order(std::vector<PowerStage>& stages) const;
    /// How many deeds the log had when the stage was passed; nothing where it is not, or what it showed was changed.
    std::optional<std::size_t> passed_with(const PowerStage& stage) const;
    /// Nothing that this reading rests on was changed after it.
    bool holds_still(const Reading& reading) const { return changes_.since(reading.deeds, ActKind::log_volts).empty(); }

  private:
    std::vector<std::string> left_out() const;
    std::optional<std::string> lacking(const Need& need, const std::map<std::string, std::string>& open) const;
    std::string off_its_value(const std::string& id) const;
    void tubes_in(PowerStage& stage, bool is_passed) const;
    void no_good(PowerStage& stage, bool is_passed) const;
    void vibrators_out(PowerStage& stage, bool is_passed) const;
    void shut(PowerStage& stage, bool is_passed, const std::string& line, GateProof proof) const;
    void stops(PowerStage& stage, bool is_passed, const std::vector<PastStop>& past) const;

    const SetOnBench& set_;
    Changes changes_;
};

}  // namespace tubewright::power_up
