// SPDX-License-Identifier: MIT
#include "choice/minutes.hpp"

#include "choice/duty.hpp"

namespace tubewright::choice {
namespace {

Cost row(const Catalogue& catalogue, const char* key) {
    const StepCost* c = catalogue.step_cost(key);
    return c ? Cost{c->minutes, c->cost, c->tools} : Cost{};
}

}  // namespace

Cost replace_cost(const Part& p, const Catalogue& catalogue) {
    switch (p.kind) {
        case PartKind::capacitor:
            if (!p.can.empty()) return row(catalogue, "capacitor-section");
            return row(catalogue, is_electrolytic(p) ? "capacitor-electrolytic" : "capacitor-two-lead");
        case PartKind::resistor:
            if (p.construction == "metal-clad") return row(catalogue, "resistor-metal-clad");
            return row(catalogue, p.rated_watts.value_or(0) >= 3 ? "resistor-power" : "resistor");
        case PartKind::control:
            return row(catalogue, "control");
        case PartKind::coil:
            return row(catalogue, p.role == "field" ? "field-coil" : p.role == "choke" ? "choke" : "coil");
        case PartKind::transformer:
            return row(catalogue, p.role == "power"    ? "transformer-power"
                                  : p.role == "output" ? "transformer-output"
                                  : p.role == "if"     ? "if-transformer"
                                                       : "coil");
        case PartKind::socket:
            return row(catalogue, "tube");
        case PartKind::lamp:
            return row(catalogue, "lamp");
        case PartKind::fuse:
            return row(catalogue, "fuse");
        case PartKind::power_switch:
            return row(catalogue, "switch");
        case PartKind::plug:
            return row(catalogue, "plug");
        case PartKind::cord:
            return row(catalogue, "cord");
        case PartKind::wire:
            return row(catalogue, "wire");
        case PartKind::speaker:
            return row(catalogue, "speaker");
        case PartKind::strip:
            return row(catalogue, "strip");
        case PartKind::battery:
            return row(catalogue, "battery");
        case PartKind::vibrator:
            return row(catalogue, "vibrator");
        case PartKind::rectifier:
            return row(catalogue, p.construction == "silicon" ? "silicon" : "selenium");
        case PartKind::block:
        case PartKind::untraced:
            break;
    }
    return {};
}

Cost measure_cost(const Part& p, const Catalogue& catalogue) {
    switch (p.kind) {
        case PartKind::capacitor:
            return row(catalogue, "measure-leakage");
        case PartKind::resistor:
            return row(catalogue, "measure-resistor");
        case PartKind::socket:
            return row(catalogue, "tube-test");
        case PartKind::control:
            return row(catalogue, "control-clean");
        default:
            return row(catalogue, "measure");
    }
}

}  // namespace tubewright::choice
