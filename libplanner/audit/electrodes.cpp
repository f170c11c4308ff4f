// SPDX-License-Identifier: MIT
#include "audit/electrodes.hpp"

#include <algorithm>

namespace tubewright::audit {
namespace {

bool contains(const std::string& text, std::string_view part) {
    return text.find(part) != std::string::npos;
}

bool is_digit(char c) {
    return c >= '0' && c <= '9';
}

}  // namespace

const char* word(Electrode electrode) {
    switch (electrode) {
        case Electrode::heater:
            return "heater";
        case Electrode::heater_tap:
            return "heater tap";
        case Electrode::cathode:
            return "cathode";
        case Electrode::plate:
            return "plate";
        case Electrode::rectifier_plate:
            return "rectifier plate";
        case Electrode::screen:
            return "screen";
        case Electrode::control_grid:
            return "grid";
        case Electrode::suppressor:
            return "suppressor";
        case Electrode::diode:
            return "diode plate";
        case Electrode::shell:
            return "shell";
        case Electrode::internal:
            return "internal connection";
        case Electrode::unused:
            return "nothing";
    }
    return "nothing";
}

std::vector<PinElectrode> electrodes_of(const Part& socket) {
    std::vector<PinElectrode> found;
    if (socket.type == nullptr) return found;
    const TubeType& type = *socket.type;
    const bool converter = mixes(socket);
    for (std::size_t i = 0; i < socket.leads.size(); ++i) {
        const int lead = static_cast<int>(i);
        // Not TubeType::pin(), which gives nothing for a pin without an electrode: an inside connection is no tie
        // point.
        const auto row = std::find_if(type.pins.begin(), type.pins.end(),
                                      [&](const Pin& one) { return one.pin == socket.leads[i].name; });
        const Pin* pin = row == type.pins.end() ? nullptr : &*row;
        if (pin == nullptr || pin->electrodes.empty()) {
            found.push_back({lead, Electrode::unused, "", ""});
            continue;
        }
        std::size_t grids = 0;
        for (const std::string& name : pin->electrodes) grids += name.size() > 1 && name[0] == 'g' ? 1 : 0;
        for (const std::string& name : pin->electrodes) {
            PinElectrode one{lead, Electrode::unused, "", name};
            if (name == "h" || name == "h-" || name == "h+") {
                one.electrode = Electrode::heater;
            } else if (name == "hct" || name == "htap") {
                one.electrode = Electrode::heater_tap;
            } else if (name[0] == 'k') {
                one.electrode = Electrode::cathode;
                one.unit = name.substr(1);
            } else if (name == "target") {
                one.electrode = Electrode::plate;
                one.unit = "target";
            } else if (name[0] == 'p') {
                one.unit = name.substr(1);
                one.electrode = type.is_rectifier() && (one.unit == "r" || !contains(type.tube_class, "+"))
                                    ? Electrode::rectifier_plate
                                    : Electrode::plate;
            } else if (name[0] == 'd') {
                one.electrode = Electrode::diode;
                one.unit = name.substr(1);
            } else if (name == "shell" || name == "shield") {
                one.electrode = Electrode::shell;
            } else if (name == "ic") {
                one.electrode = Electrode::internal;
            } else if (name == "gt") {
                one.electrode = Electrode::control_grid;
                one.unit = "t";
            } else if (name.size() == 3 && name[0] == 'g' && is_digit(name[1]) && name[2] == 't') {
                one.electrode = Electrode::control_grid;
                one.unit = name.substr(1, 1);
            } else if (name.size() == 2 && name[0] == 'g' && is_digit(name[1])) {
                const char number = name[1];
                const bool alone = grids == 1;
                if (number == '1') {
                    one.electrode = Electrode::control_grid;
                } else if (converter && alone && number > '4') {
                    one.electrode = Electrode::suppressor;
                } else if (converter) {
                    one.electrode = !alone || number == '2' ? Electrode::screen : Electrode::control_grid;
                } else if (number == '2' && !contains(type.tube_class, "dual-grid")) {
                    one.electrode = Electrode::screen;
                } else {
                    one.electrode = Electrode::suppressor;
                }
            } else if (name == "nc") {
                one.electrode = Electrode::unused;
            }
            found.push_back(std::move(one));
        }
    }
    return found;
}

bool mixes(const Part& socket) {
    return socket.type != nullptr &&
           (contains(socket.type->tube_class, "converter") || contains(socket.type->tube_class, "mixer"));
}

bool is_anode_grid(const Part& socket, const PinElectrode& pin) {
    if (pin.written != "g2" || pin.electrode != Electrode::screen || !mixes(socket)) return false;
    const Pin* row = socket.type->pin(socket.leads[static_cast<std::size_t>(pin.lead)].name);
    return row != nullptr && row->electrodes.size() == 1;
}

std::string trade_name(const Part& socket, const PinElectrode& pin) {
    if (mixes(socket)) {
        if (is_anode_grid(socket, pin)) return "anode grid";
        const bool oscillates = contains(socket.type->tube_class, "converter");
        if (pin.electrode == Electrode::control_grid) {
            if (pin.written == "g1" || pin.written == "gt") return oscillates ? "oscillator grid" : "signal grid";
            return oscillates ? "signal grid" : "injection grid";
        }
        if (pin.written == "pt") return "oscillator plate";
    }
    if (pin.electrode == Electrode::unused) return "";
    if (socket.type != nullptr && socket.type->directly_heated && pin.electrode == Electrode::heater)
        return pin.written.size() == 2 ? std::string("filament ") + pin.written[1] : "filament";
    std::string name = word(pin.electrode);
    if (pin.unit == "1" || pin.unit == "2") name += " " + pin.unit;
    if (pin.unit == "r" && pin.electrode == Electrode::cathode) name = "rectifier cathode";
    if (pin.unit == "target") name = "target";
    return name;
}

bool rectifies(const Part& socket, const PinElectrode& pin) {
    if (socket.type == nullptr || !socket.type->is_rectifier()) return false;
    return pin.unit == "r" || !contains(socket.type->tube_class, "+");
}

}  // namespace tubewright::audit
