// SPDX-License-Identifier: MIT
// See touch.hpp.
#include "threat/touch.hpp"

#include <algorithm>

#include "stress/limits.hpp"
#include "threat/faults.hpp"

namespace tubewright::threat {
namespace {

constexpr double two_pi = 6.28318530717959;
constexpr double least_ohms = 0.1;
constexpr double few_ohms = 10e3;       ///< little beside what a line capacitor of .05 uF has at 60 cycles
constexpr double much_farads = 0.5e-6;  ///< the same

}  // namespace

Touch::Touch(const Chassis& chassis, double line_volts, double hertz)
    : chassis_(chassis),
      volts_(line_volts),
      radians_(two_pi * hertz),
      metal_(metal_of(chassis)),
      sides_{stress::line_side_of(chassis, chassis.nodes().line_hot, false, metal_),
             stress::line_side_of(chassis, chassis.nodes().line_neutral, false, metal_)},
      at_metal_(hanging_on_metal()) {}

std::vector<bool> Touch::hanging_on_metal() const {
    std::vector<bool> on(chassis_.nets().size(), false);
    std::vector<int> front;
    const auto reach = [&](int net) {
        if (net < 0 || on[static_cast<std::size_t>(net)] || side(net) >= 0) return;
        on[static_cast<std::size_t>(net)] = true;
        front.push_back(net);
    };
    if (metal_ < 0) return on;
    on[static_cast<std::size_t>(metal_)] = true;
    front.push_back(metal_);
    while (!front.empty()) {
        const int net = front.back();
        front.pop_back();
        for (const LeadRef& ref : chassis_.nets()[static_cast<std::size_t>(net)].leads) {
            const Part& part = chassis_.parts()[static_cast<std::size_t>(ref.part)];
            for (const PartWinding& winding : part.windings)
                if (std::count(winding.leads.begin(), winding.leads.end(), ref.lead) > 0)
                    for (const int lead : winding.leads) reach(part.leads[static_cast<std::size_t>(lead)].net);
            const bool whole = part.kind == PartKind::coil || part.kind == PartKind::wire ||
                               part.kind == PartKind::lamp || part.kind == PartKind::fuse ||
                               (part.kind == PartKind::power_switch && part.closed) ||
                               (part.kind == PartKind::resistor && part.ohms.value_or(few_ohms) < few_ohms) ||
                               (part.kind == PartKind::capacitor && part.farads.value_or(0) >= much_farads);
            if (whole)
                for (const Lead& lead : part.leads) reach(lead.net);
        }
    }
    return on;
}

int Touch::side(int net) const {
    if (net < 0) return -1;
    return sides_[0][static_cast<std::size_t>(net)] ? 0 : sides_[1][static_cast<std::size_t>(net)] ? 1 : -1;
}

void Touch::add(std::array<Siemens, 2>& paths, int a, int b, Siemens siemens) const {
    const auto metal = [&](int net) { return net >= 0 && at_metal_[static_cast<std::size_t>(net)]; };
    if (metal(a)) std::swap(a, b);
    if (!metal(b)) return;
    if (const int blade = side(a); blade >= 0) paths[static_cast<std::size_t>(blade)] += siemens;
}

Touch::Siemens Touch::of(const Part& part) const {
    if (part.kind == PartKind::capacitor && part.farads) return {0, radians_ * *part.farads};
    if (part.kind == PartKind::resistor && part.ohms) return {1 / std::max(*part.ohms, least_ohms), 0};
    return 0;
}

double Touch::amps(const Fault* fault) const {
    std::array<Siemens, 2> paths{};
    for (std::size_t i = 0; i < chassis_.parts().size(); ++i) {
        const Part& part = chassis_.parts()[i];
        if (part.leads.size() != 2) continue;
        Siemens siemens = of(part);
        if (fault != nullptr && fault->part == static_cast<int>(i)) {
            if (fault->mode == FaultMode::open) continue;
            if (fault->mode == FaultMode::drift) siemens /= fault->factor;
        }
        add(paths, part.leads[0].net, part.leads[1].net, siemens);
    }
    if (fault != nullptr && fault->part >= 0 && fault->lead_a >= 0 && fault->ohms > 0) {
        const Part& part = chassis_.parts()[static_cast<std::size_t>(fault->part)];
        const auto net = [&](int lead) { return lead < 0 ? -1 : part.leads[static_cast<std::size_t>(lead)].net; };
        add(paths, net(fault->lead_a), fault->net_b >= 0 ? fault->net_b : net(fault->lead_b),
            1 / std::max(fault->ohms, least_ohms));
    }
    return hand(paths);
}

double Touch::amps_by_capacity() const {
    std::array<Siemens, 2> paths{};
    for (const Part& part : chassis_.parts())
        if (part.leads.size() == 2) add(paths, part.leads[0].net, part.leads[1].net, {0, of(part).imag()});
    return hand(paths);
}

bool Touch::holds_off(const Part& part) const {
    const NodeRoles& roles = chassis_.nodes();
    if (part.leads.size() != 2 || metal_ < 0 || metal_ == roles.line_hot || metal_ == roles.line_neutral) return false;
    const int a = part.leads[0].net, b = part.leads[1].net;
    const auto metal = [&](int net) { return net >= 0 && at_metal_[static_cast<std::size_t>(net)]; };
    return (metal(a) && side(b) >= 0) || (metal(b) && side(a) >= 0);
}

bool Touch::across_line(const Part& part) const {
    return part.leads.size() == 2 && side(part.leads[0].net) >= 0 && side(part.leads[1].net) >= 0;
}

double Touch::hand(const std::array<Siemens, 2>& paths) const {
    // one blade at the line's volts, the other at earth, and the hand between the metal and earth
    double worst = 0;
    for (const std::size_t live : {0U, 1U})
        worst = std::max(worst, std::abs(volts_ * paths[live] / (paths[0] + paths[1] + 1 / body_ohms)) / body_ohms);
    return worst;
}

}  // namespace tubewright::threat
