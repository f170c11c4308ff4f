// SPDX-License-Identifier: MIT
// A chassis without a file: ChassisBuilder puts trade calls into the same Assembly that the reader uses.
#include "chassis/assembly.hpp"
#include "terms/period_value.hpp"

namespace tubewright {

struct ChassisBuilder::Plan {
    explicit Plan(std::string name) : assembly(std::move(name)) {}
    Assembly assembly;

    Part& two_leads(PartKind kind, std::string_view id, std::string_view a_name, std::string_view a,
                    std::string_view b_name, std::string_view b) {
        if (id.empty()) throw Error("a part without an id");
        Part& part = assembly.add(kind, id, {}, {});
        assembly.lead(part, a_name, a, {});
        assembly.lead(part, b_name, b, {});
        return part;
    }
};

ChassisBuilder::ChassisBuilder(std::string name) : plan_(std::make_unique<Plan>(std::move(name))) {}
ChassisBuilder::~ChassisBuilder() = default;
ChassisBuilder::ChassisBuilder(ChassisBuilder&&) noexcept = default;

void ChassisBuilder::built(int year) {
    plan_->assembly.built = year;
}
void ChassisBuilder::file(std::string path) {
    plan_->assembly.file = std::move(path);
}

void ChassisBuilder::line(Volts volts, Hertz hertz, std::string_view hot, std::string_view neutral) {
    LineSpec& made = plan_->assembly.line;
    made.volts = volts.value();
    made.hertz = hertz.value();
    made.volts_stated = true;
    plan_->assembly.line_nets(hot, {}, neutral, {});
}

void ChassisBuilder::reference(std::string_view net) {
    plan_->assembly.reference(net, {});
}

void ChassisBuilder::node(std::string_view is, std::string_view net, bool touch, Place place) {
    if (is != "chassis-metal" && is != "b-minus" && is != "earth" && is != "line-hot" && is != "line-neutral")
        throw Error("a node is chassis-metal, b-minus, earth, line-hot or line-neutral, not " + std::string(is));
    plan_->assembly.node(is, net, touch, {place.line, place.column});
}

void ChassisBuilder::default_for(std::string_view what, std::string_view value) {
    Assembly& a = plan_->assembly;
    FileDefault* text = what == "paper"          ? &a.paper
                        : what == "mica"         ? &a.mica
                        : what == "electrolytic" ? &a.electrolytic
                        : what == "resistor"     ? &a.resistor
                        : what == "wire"         ? &a.wire
                        : what == "cord"         ? &a.cord
                                                 : nullptr;
    if (text) {
        text->key = value;
        return;
    }
    if (what != "tolerance") throw Error("no default for " + std::string(what));
    const Outcome<double> per_cent = read_value(value, Measure::per_cent);
    if (!per_cent) throw Error(per_cent.notices().front().text());
    a.tolerance = *per_cent / 100;
}

void ChassisBuilder::join(const std::vector<std::string>& nets, Place place) {
    std::vector<std::pair<std::string, Spot>> names;
    for (const std::string& net : nets) names.emplace_back(net, Spot{place.line, place.column});
    plan_->assembly.join(names);
}

void ChassisBuilder::resistor(std::string_view id, Ohms value, std::string_view a, std::string_view b) {
    plan_->two_leads(PartKind::resistor, id, "a", a, "b", b).ohms = value.value();
}

void ChassisBuilder::capacitor(std::string_view id, Farads value, std::string_view a, std::string_view b) {
    plan_->two_leads(PartKind::capacitor, id, "a", a, "b", b).farads = value.value();
}

void ChassisBuilder::electrolytic(std::string_view id, Farads value, Volts rated, std::string_view plus,
                                  std::string_view minus) {
    Part& part = plan_->two_leads(PartKind::capacitor, id, "plus", plus, "minus", minus);
    part.farads = value.value();
    part.rated_volts = rated.value();
    part.polarised = true;
}

void ChassisBuilder::socket(std::string_view id, std::string_view tube) {
    if (id.empty()) throw Error("a part without an id");
    plan_->assembly.add(PartKind::socket, id, {}, {}).tube = tube;
}

void ChassisBuilder::coil(std::string_view id, std::string_view role, Henries value, Ohms ohms, std::string_view a,
                          std::string_view b) {
    Part& part = plan_->two_leads(PartKind::coil, id, "a", a, "b", b);
    part.role = role;
    part.henries = value.value();
    part.ohms = ohms.value();
}

void ChassisBuilder::add(Part part, const std::vector<std::pair<std::string, std::string>>& lead_nets) {
    if (part.id.empty()) throw Error("a part without an id");
    const Spot spot{part.place.line, part.place.column};
    if (!part.can.empty() && !plan_->assembly.knows(part.can)) plan_->assembly.can(part.can, "", spot, spot);
    Part& placed = plan_->assembly.add(part.kind, part.id, spot, spot);
    const Place place = placed.place;
    placed = std::move(part);
    placed.place = place;
    placed.leads.clear();
    for (const auto& [lead, net] : lead_nets) plan_->assembly.lead(placed, lead, net, spot);
}

Outcome<Chassis> ChassisBuilder::build(const Catalogue& catalogue) {
    return plan_->assembly.finish(catalogue);
}

}  // namespace tubewright
