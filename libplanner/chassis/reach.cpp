// SPDX-License-Identifier: MIT
// See reach.hpp.
#include "chassis/reach.hpp"

#include <algorithm>

#include "chassis/graph.hpp"

namespace tubewright {
namespace {

std::size_t at(int i) {
    return static_cast<std::size_t>(i);
}

bool bleeder(const Part& part) {
    return part.kind == PartKind::resistor && part.ohms && *part.ohms >= guarding_ohms;
}

/// Nets by net that conduct at once; a bleeder does not.
class Conduction {
  public:
    explicit Conduction(const Chassis& chassis) : beside_(chassis.nets().size()) {
        for (std::size_t i = 0; i < chassis.parts().size(); ++i) {
            const Part& part = chassis.parts()[i];
            if (bleeder(part)) continue;
            for (const ConductingGroup& group : conducting_groups(part, static_cast<int>(i), Through::blade)) {
                int before = -1;
                for (const int lead : group.leads) {
                    const int net = part.leads[at(lead)].net;
                    if (net >= 0 && before >= 0) {
                        beside_[at(net)].push_back(before);
                        beside_[at(before)].push_back(net);
                    }
                    if (net >= 0) before = net;
                }
            }
        }
    }
    /// Nothing goes on from a net of `not_through`.
    std::vector<bool> reached(std::vector<int> front, const std::vector<bool>& not_through) const {
        std::vector<bool> on(beside_.size());
        for (const int net : front) on[at(net)] = true;
        while (!front.empty()) {
            const int net = front.back();
            front.pop_back();
            for (const int to : beside_[at(net)]) {
                if (on[at(to)] || not_through[at(to)]) continue;
                on[at(to)] = true;
                front.push_back(to);
            }
        }
        return on;
    }

  private:
    std::vector<std::vector<int>> beside_;
};

}  // namespace

LineReach line_reach(const Chassis& chassis) {
    const std::size_t nets = chassis.nets().size();
    LineReach reach;
    reach.live.assign(nets, false);
    reach.touched.assign(nets, false);
    reach.guards.assign(chassis.parts().size(), false);
    reach.hand.assign(chassis.parts().size(), -1);
    const NodeRoles& roles = chassis.nodes();
    std::vector<int> blades, touched;
    for (const int net : {roles.line_hot, roles.line_neutral})
        if (net >= 0) blades.push_back(net);
    if (blades.empty() || chassis.family() == Family::vehicle || chassis.family() == Family::battery) return reach;
    const Conduction conduction(chassis);
    reach.live = conduction.reached(blades, reach.touched);
    for (const int net : {roles.chassis_metal, roles.earth})
        if (net >= 0) touched.push_back(net);
    for (std::size_t n = 0; n < nets; ++n)
        if (chassis.nets()[n].touch) touched.push_back(static_cast<int>(n));
    std::erase_if(touched, [&](int net) { return static_cast<bool>(reach.live[at(net)]); });
    // Each thing that a hand can hold by itself: two that hang together are one.
    std::vector<int> thing(nets, -1);
    for (const int net : touched) {
        if (thing[at(net)] >= 0) continue;
        const std::vector<bool> on = conduction.reached({net}, reach.live);
        for (std::size_t n = 0; n < nets; ++n)
            if (on[n]) {
                thing[n] = net;
                reach.touched[n] = true;
            }
    }
    for (std::size_t i = 0; i < chassis.parts().size(); ++i) {
        const Part& part = chassis.parts()[i];
        if (part.leads.size() != 2 || (part.kind != PartKind::capacitor && !bleeder(part))) continue;
        const int a = part.leads[0].net, b = part.leads[1].net;
        if (a < 0 || b < 0) continue;
        reach.guards[i] = reach.live[at(a)] != reach.live[at(b)] && reach.touched[at(a)] != reach.touched[at(b)];
        if (reach.guards[i]) reach.hand[i] = thing[at(reach.touched[at(a)] ? a : b)];
    }
    return reach;
}

}  // namespace tubewright
