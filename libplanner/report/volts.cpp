// SPDX-License-Identifier: MIT
// `volts`: a card a socket with what the meter should read at each pin, the supply nets through all the conditions, and
// the currents. JSON: every net in every condition, and all branches. Tests: tests/report/answers_test.cpp.
#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <optional>
#include <set>

#include "audit/electrodes.hpp"
#include "bench/dry.hpp"
#include "bench/numbers.hpp"
#include "bench/residue.hpp"
#include "chassis/data.hpp"
#include "chassis/graph.hpp"
#include "policy/policy.hpp"
#include "report/bench_words.hpp"
#include "report/envelope.hpp"
#include "report/small_signal.hpp"

namespace tubewright {
namespace {

using namespace report;

struct Solved {
    Condition condition;
    Solution solution;
};

std::string pin_words(const Part& socket, const std::string& name) {
    const Pin* pin = socket.type == nullptr ? nullptr : socket.type->pin(name);
    std::string text;
    if (pin != nullptr) {
        for (const std::string& electrode : pin->electrodes) text += (text.empty() ? "" : "+") + electrode;
    }
    return text.empty() ? "-" : text;
}

/// No path for direct current reaches it, or none that a meter would not swamp: what it shows is no volts of the set.
bool not_known(const NetVolts& net) {
    constexpr double only_leakage = 1e10;  // ohms
    return net.undetermined || net.source.value() >= only_leakage;
}

bool mostly_ac(const NetVolts& net) {
    return net.rms.value() > 0.5 && std::fabs(net.dc.value()) < 0.1 * net.rms.value();
}

/// An end of a plate winding whose tap is not the black clip's net: what a bench asks for is the alternating volts to
/// that tap, not the tap's own direct volts. Its band is that of the net's own rms.
struct ToTap {
    double volts = 0, low = 0, high = 0;
    int tap = -1;
};
std::optional<ToTap> to_tap(const Chassis& chassis, const Solution& solution, const NetVolts& net) {
    if (not_known(net)) return std::nullopt;
    for (const LeadRef ref : chassis.nets()[static_cast<std::size_t>(net.net)].leads) {
        const Part& part = chassis.parts()[static_cast<std::size_t>(ref.part)];
        for (const PartWinding& winding : part.windings) {
            if (winding.role != WindingRole::plate || winding.leads.size() != 3) continue;
            const int tap = part.leads[static_cast<std::size_t>(winding.leads[1])].net;
            const bool first = winding.leads[0] == ref.lead, last = winding.leads[2] == ref.lead;
            const Branch* half = solution.branch(ref.part, winding.name + (first ? ".1" : ".2"));
            if ((!first && !last) || tap < 0 || tap == chassis.reference() || half == nullptr) continue;
            const double rms = half->volts_rms.value(), own = net.rms.value();
            if (rms < 0.5 || own < 0.5) continue;
            return ToTap{rms, rms * net.rms_low.value() / own, rms * net.rms_high.value() / own, tap};
        }
    }
    return std::nullopt;
}

/// A grid or a rail at rest: nothing that a needle shows, and no supply that might well be there.
bool at_rest(const NetVolts& net) {
    const double far = std::max(net.high.value(), -net.low.value());
    return std::fabs(net.dc.value()) < 0.05 && net.rms.value() < 0.05 && far < bench::residue_volts;
}

/// The electrolytic of a supply whose plus is on this net; empty when there is none.
std::string filter_at(const Chassis& chassis, const Net& net) {
    for (const LeadRef ref : net.leads) {
        const Part& part = chassis.parts()[static_cast<std::size_t>(ref.part)];
        if (part.kind == PartKind::capacitor && part.polarised && part.rated_volts.value_or(0) > bench::supply_rating &&
            ref.lead == 0)
            return part.id;
    }
    return "";
}

/// The paper filter on this net, as a part; -1 when there is none.
int paper_filter_at(const Chassis& chassis, const Net& net) {
    constexpr double least = 0.4e-6;  // farads
    for (const LeadRef ref : net.leads)
        if (const Part& part = chassis.parts()[static_cast<std::size_t>(ref.part)];
            part.kind == PartKind::capacitor && part.farads.value_or(0) >= least && !stands_open(part))
            return ref.part;
    return -1;
}

/// The plate of a signal diode: what stands there of its own starting current is its load's to tell, and a figure.
bool detects(const Part& socket) {
    return socket.type != nullptr && !socket.type->is_rectifier() &&
           std::none_of(socket.type->pins.begin(), socket.type->pins.end(), [](const Pin& pin) {
               return std::any_of(pin.electrodes.begin(), pin.electrodes.end(),
                                  [](const std::string& name) { return name.starts_with("g"); });
           });
}

/// Ohms between these leads of what is copper or a resistor; of a winding as far as the file has them.
std::optional<double> copper_ohms(const Part& part, const ConductingGroup& group) {
    switch (part.kind) {
        case PartKind::resistor:
        case PartKind::coil:
        case PartKind::control:
            return part.ohms ? std::optional(*part.ohms) : std::nullopt;
        case PartKind::transformer:
        case PartKind::power_switch:
        case PartKind::fuse:
        case PartKind::wire:
            break;
        default:
            return std::nullopt;
    }
    double ohms = 0;
    for (const PartWinding& winding : part.windings)
        if (std::find(winding.leads.begin(), winding.leads.end(), group.leads.front()) != winding.leads.end())
            for (const double one : winding.ohms) ohms += one;
    return ohms;
}

/// A few kilohms hold it to the black clip's net, as they hold a bias in the return of B-plus: what the tubes' laws
/// leave is microamperes, and no volts across so little.
bool held_to_return(const Chassis& chassis, int net) {
    constexpr double most = 5e3;  // 1 mA of a small set makes the highest residue across so many
    std::vector<std::pair<ConductingGroup, double>> groups;
    for (std::size_t p = 0; p < chassis.parts().size(); ++p)
        for (ConductingGroup& group :
             conducting_groups(chassis.parts()[p], static_cast<int>(p), Through::direct_current))
            if (const std::optional<double> own = copper_ohms(chassis.parts()[p], group))
                groups.emplace_back(std::move(group), *own);
    std::vector<double> ohms(chassis.nets().size(), 2 * most);
    ohms[static_cast<std::size_t>(chassis.reference())] = 0;
    for (bool nearer = true; nearer;) {
        nearer = false;
        for (const auto& [group, own] : groups) {
            const Part& part = chassis.parts()[static_cast<std::size_t>(group.part)];
            for (const int from : group.leads)
                for (const int to : group.leads) {
                    const int a = part.leads[static_cast<std::size_t>(from)].net;
                    const int b = part.leads[static_cast<std::size_t>(to)].net;
                    if (a < 0 || b < 0) continue;
                    const double there = ohms[static_cast<std::size_t>(a)] + own;
                    if (there >= ohms[static_cast<std::size_t>(b)]) continue;
                    ohms[static_cast<std::size_t>(b)] = there;
                    nearer = true;
                }
        }
    }
    return ohms[static_cast<std::size_t>(net)] <= most;
}

/// A plate, a screen, a filter or a rectifier's cathode that nothing feeds: what the solution has there is the residue
/// of the tubes' laws near 0 V, where electrons still arrive with the speed that they left with. No figure for a
/// needle. Nor is what the insulation of pulled tubes and their sockets passes on from some battery.
bool unfed(const Chassis& chassis, const NetVolts& net) {
    constexpr double rest = 0.05, insulation_ohms = 1e8;
    if (not_known(net) || mostly_ac(net)) return false;
    const bool residue =
        net.dc.value() <= -rest && net.dc.value() >= -bench::residue_volts && !held_to_return(chassis, net.net);
    const bool insulation =
        std::fabs(net.dc.value()) > rest && net.source.value() >= insulation_ohms && std::fabs(net.meter.value()) < 0.5;
    if (!residue && !insulation) return false;
    const double wide = net.high.value() - net.low.value();
    if (insulation && wide > 10 * std::fabs(net.dc.value())) return true;
    const Net& there = chassis.nets()[static_cast<std::size_t>(net.net)];
    if (!filter_at(chassis, there).empty() || paper_filter_at(chassis, there) >= 0) return true;
    return std::any_of(there.leads.begin(), there.leads.end(), [&](const LeadRef ref) {
        const Part& part = chassis.parts()[static_cast<std::size_t>(ref.part)];
        if (part.kind != PartKind::socket || part.type == nullptr || detects(part)) return false;
        const bool rectifier = part.type->is_rectifier();
        const Pin* pin = part.type->pin(part.leads[static_cast<std::size_t>(ref.lead)].name);
        return pin != nullptr &&
               std::any_of(pin->electrodes.begin(), pin->electrodes.end(), [&](const std::string& name) {
                   if (rectifier) return name.starts_with("k") || (name == "h" && part.type->directly_heated);
                   return name.starts_with("p") || name == "g2" || name == "g3+g5" || name == "g2+g4";
               });
    });
}

std::string volts_cell(const Chassis& chassis, const Solution& solution, const NetVolts& net) {
    if (net.open_grid) return "open: " + two_figures(net.low.value()) + " to " + two_figures(net.high.value()) + " V";
    if (not_known(net)) return "not determined";
    if (const auto ends = to_tap(chassis, solution, net))
        return banded_alternating(ends->volts, ends->low, ends->high, "to c.t.");
    if (unfed(chassis, net) && net.rms.value() < 0.5) return "about 0";
    if (unfed(chassis, net) || mostly_ac(net))
        return banded_alternating(net.rms.value(), net.rms_low.value(), net.rms_high.value());
    if (at_rest(net)) return "0";
    return banded_volts(net.dc.value(), net.low.value(), net.high.value());
}

constexpr const char* off_scale = "off scale";

/// Empty when the meter reads what stands there.
std::string meter_cell(const Chassis& chassis, const Solution& solution, const NetVolts& net, const Meter& meter) {
    if (not_known(net) || unfed(chassis, net) || at_rest(net)) return "";
    const auto tap = to_tap(chassis, solution, net);
    if (past_range(meter, tap ? tap->volts : mostly_ac(net) ? net.rms.value() : net.meter.value())) return off_scale;
    if (mostly_ac(net) || tap) return "";
    const double dc = net.dc.value(), read = net.meter.value();
    if (std::fabs(read - dc) <= 0.02 * std::fabs(dc) + 0.02) return "";
    return two_figures(read) + " V";
}

std::string ripple_cell(const Chassis& chassis, const Solution& solution, const NetVolts& net) {
    if (not_known(net) || mostly_ac(net) || unfed(chassis, net) || net.ripple_pp.value() < 0.1 ||
        to_tap(chassis, solution, net))
        return "";
    return two_figures(net.ripple_pp.value()) + " V pp";
}

std::string cut_short(const Condition& condition) {
    switch (condition.scenario) {
        case Scenario::high_line:
            return "high line";
        case Scenario::warm_up:
            return "warm-up";
        case Scenario::speaker_unplugged:
            return "speaker off";
        case Scenario::output_cut_off:
            return "output off";
        case Scenario::rectifier_out:
            return "rect. out";
        case Scenario::transformer_alone:
            return "trans. alone";
        case Scenario::tube_out:
        case Scenario::dial_lamp_out:
            return condition.tube + " out";
        default:
            return condition.text();
    }
}

/// Full drive stands between a grid and its pin: what the grid sees, which its net does not tell; else empty.
std::string signal_cell(const Part& socket, int part, const std::string& pin, const Solution& solution) {
    if (solution.condition.scenario != Scenario::signal_peak || socket.type == nullptr ||
        socket.type->tube_class.find("power") == std::string::npos)
        return "";
    const Branch* grid = solution.branch(part, "g1." + pin);
    return grid == nullptr || grid->volts_rms.value() < 0.5
               ? ""
               : "signal " + two_figures(grid->volts_rms.value()) + " V ac";
}

/// What "to c.t." is said of.
void tap_words(Page& page, const Chassis& chassis, const Solution& solution) {
    std::set<int> taps;
    for (const NetVolts& net : solution.nets)
        if (const auto ends = to_tap(chassis, solution, net)) taps.insert(ends->tap);
    for (const int tap : taps)
        page.paragraph("\"To c.t.\": from there to the winding's centre tap, which is " +
                       chassis.nets()[static_cast<std::size_t>(tap)].name +
                       " and not the black clip's net; --format json has the direct volts besides.");
}

/// Why a grid has no figure, and where the bands of its tube come from.
void open_grid_words(Page& page, const Chassis& chassis, const Solution& solution) {
    std::string open;
    for (const Part& socket : chassis.parts()) {
        if (socket.kind != PartKind::socket || socket.type == nullptr || stands_empty(socket)) continue;
        for (const audit::PinElectrode& pin : audit::electrodes_of(socket)) {
            const int net = socket.leads[static_cast<std::size_t>(pin.lead)].net;
            if (pin.electrode != audit::Electrode::control_grid || net < 0) continue;
            if (chassis.nets()[static_cast<std::size_t>(net)].leads.size() < 2 ||
                !solution.nets[static_cast<std::size_t>(net)].open_grid)
                continue;
            open += (open.empty() ? "" : ", ") + socket.id + "." +
                    socket.leads[static_cast<std::size_t>(pin.lead)].name.str();
        }
    }
    if (open.empty()) return;
    page.paragraph("Open grid, " + open +
                   ": a range and no figure. It stands where its gas current and the leakage of its socket leave it "
                   "(1 to 50 nA, 1,000 megohm to none, assumed); a meter there would be the grid leak that is missing. "
                   "The bands of its tube reach over that whole range.");
}

void socket_cards(Page& page, const Study& study, const Solution& solution, bool all) {
    const Chassis& chassis = study.as_it_stands();
    page.heading("by socket, pins from below");
    const Meter& meter = study.policy().meter;
    const auto any_reads = [&](const auto& test) {
        return std::any_of(solution.nets.begin(), solution.nets.end(), [&](const NetVolts& net) {
            const std::string cell = meter_cell(chassis, solution, net, meter);
            return !cell.empty() && test(cell);
        });
    };
    const bool loaded = any_reads([](const std::string&) { return true; });
    std::vector<Column> columns{{"pin"}, {"is"}, {"net", Align::left, true}, {"volts", Align::right}};
    if (loaded) columns.push_back({"on your meter", Align::right});
    columns.push_back({"ripple", Align::right});
    Table table(columns);
    bool driven = false;
    for (const Part& socket : chassis.parts()) {
        if (socket.kind != PartKind::socket) continue;
        std::string head = socket.id + "  " + (socket.tube.empty() ? "empty" : socket.tube);
        if (stands_empty(socket)) head += " (empty now)";
        if (socket.type != nullptr) head += ", " + socket.type->tube_class + ", base " + socket.type->base;
        if (!socket.location.empty()) head += " (" + socket.location + ")";
        table.group("");
        table.group(head);
        for (const Lead& lead : socket.leads) {
            const bool bare = lead.net < 0 || chassis.nets()[static_cast<std::size_t>(lead.net)].leads.size() < 2;
            if (bare && !all) continue;
            std::vector<std::string> cells{lead.name, pin_words(socket, lead.name)};
            if (bare) {
                cells.insert(cells.end(), {"-", "free"});
            } else {
                const NetVolts& net = solution.nets[static_cast<std::size_t>(lead.net)];
                cells.insert(cells.end(), {net.name, volts_cell(chassis, solution, net)});
                if (loaded) cells.push_back(meter_cell(chassis, solution, net, meter));
                const std::string signal =
                    signal_cell(socket, static_cast<int>(&socket - chassis.parts().data()), lead.name, solution);
                driven = driven || !signal.empty();
                cells.push_back(signal.empty() ? ripple_cell(chassis, solution, net) : signal);
            }
            table.row(std::move(cells));
        }
    }
    page.table(table);
    if (loaded) page.blank();
    if (any_reads([](const std::string& cell) { return cell != off_scale; }))
        page.paragraph("\"On your meter\" stands where the meter itself pulls the volts down by more than 2 %.");
    if (driven) {
        page.blank();
        page.paragraph(
            "\"Signal\" is put between pin and grid, and counted from grid to cathode: stages before it are at rest, "
            "and their pins show nothing of it.");
    }
    if (any_reads([](const std::string& cell) { return cell == off_scale; }))
        page.paragraph("\"Off scale\": " + off_scale_words(meter));
    tap_words(page, chassis, solution);
    open_grid_words(page, chassis, solution);
}

/// Rails below the black clip: the minus of electrolytics whose plus is on it.
std::vector<std::pair<int, std::string>> negative_rails(const Chassis& chassis) {
    std::vector<std::pair<int, std::string>> found;
    for (const Part& part : chassis.parts()) {
        if (part.kind != PartKind::capacitor || !part.polarised || part.leads.size() < 2 || stands_open(part)) continue;
        const int minus = part.leads[1].net;
        if (part.leads[0].net != chassis.reference() || minus < 0 || minus == chassis.reference()) continue;
        if (std::none_of(found.begin(), found.end(), [&](const auto& one) { return one.first == minus; }))
            found.emplace_back(minus, "the minus of " + part.id);
    }
    return found;
}

/// Nets that tell of the supply, and why: the plus of its electrolytics; of its paper filters where it has none; else
/// what stands highest, with most leads on it; last what stands below the black clip.
std::vector<std::pair<int, std::string>> rails(const Chassis& chassis, const Solution& normal) {
    constexpr std::size_t most = 4;
    constexpr double high = 0.3;  // of the highest net
    std::vector<std::pair<int, std::string>> found;
    int highest = -1;
    for (std::size_t n = 0; n < chassis.nets().size(); ++n) {
        if (const std::string plus = filter_at(chassis, chassis.nets()[n]);
            !plus.empty() && static_cast<int>(n) != chassis.reference())
            found.emplace_back(static_cast<int>(n), "the plus of " + plus);
        if (not_known(normal.nets[n])) continue;
        const auto above = [&](const NetVolts& now, const NetVolts& old) {
            if (now.dc.value() > old.dc.value() + 0.5) return true;
            return now.dc.value() > old.dc.value() - 0.5 &&
                   chassis.nets()[n].leads.size() > chassis.nets()[static_cast<std::size_t>(highest)].leads.size();
        };
        if (highest < 0 || above(normal.nets[n], normal.nets[static_cast<std::size_t>(highest)]))
            highest = static_cast<int>(n);
    }
    if (found.empty() && highest >= 0) {
        const double top = normal.nets[static_cast<std::size_t>(highest)].dc.value();
        for (std::size_t n = 0; n < chassis.nets().size(); ++n)
            if (const int filter = paper_filter_at(chassis, chassis.nets()[n]);
                filter >= 0 && normal.nets[n].dc.value() > high * top)
                found.emplace_back(static_cast<int>(n),
                                   "the filter " + chassis.parts()[static_cast<std::size_t>(filter)].id);
        std::sort(found.begin(), found.end(), [&](const auto& a, const auto& b) {
            return normal.nets[static_cast<std::size_t>(a.first)].dc.value() >
                   normal.nets[static_cast<std::size_t>(b.first)].dc.value();
        });
        if (found.empty()) found.emplace_back(highest, "the highest of the direct volts");
    }
    std::vector<std::pair<int, std::string>> below = negative_rails(chassis);
    if (below.size() > most - 1) below.resize(most - 1);
    if (found.size() > most - below.size()) found.resize(most - below.size());
    found.insert(found.end(), below.begin(), below.end());
    return found;
}

/// Dangerous volts that the figures in sight do not tell of: where the highest stand in a condition when that is
/// elsewhere. Empty when there are none.
std::string out_of_sight(const Chassis& chassis, const Solved& one, const std::vector<int>& in_sight) {
    constexpr double shock = 60, more = 1.1;
    const std::vector<NetVolts>& nets = one.solution.nets;
    const auto stands = [&](const NetVolts& net) {
        if (not_known(net) || mostly_ac(net) || unfed(chassis, net) || to_tap(chassis, one.solution, net)) return 0.0;
        return std::fabs(net.dc.value());
    };
    double seen = 0;
    for (const int net : in_sight) seen = std::max(seen, stands(nets[static_cast<std::size_t>(net)]));
    const auto top = std::max_element(nets.begin(), nets.end(),
                                      [&](const NetVolts& a, const NetVolts& b) { return stands(a) < stands(b); });
    const bool hidden = top != nets.end() && stands(*top) > std::max(shock, more * seen);
    return hidden ? top->name + " stands at " + volts_cell(chassis, one.solution, *top) : "";
}

/// What the conditions ask of parts beyond what they are made for, each at its worst, as `stress` judges it, and what
/// capacitors hold without the speaker, which no rating is for; the furthest beyond first.
void over_rating(Page& page, const Study& study, const std::vector<Solved>& solved) {
    constexpr double soon = 1.25;  // of the rating: no part lasts there (declared)
    const Chassis& chassis = study.as_it_stands();
    std::vector<Solution> solutions;
    for (const Solved& one : solved) solutions.push_back(one.solution);
    struct Row {
        double share;
        bool danger;
        std::vector<std::string> cells;
    };
    std::vector<Row> rows;
    for (const PartStress& of : stress_of(chassis, study.catalogue(), study.policy(), solutions)) {
        const Part& part = chassis.parts()[static_cast<std::size_t>(of.part)];
        const auto add = [&](const std::string& what, char unit, double stress, double rated, const std::string& in) {
            const auto words = [&](double x) { return unit == 'A' ? say(amps(x)) : in_band(x, x, x) + " " + unit; };
            std::string name = part.id;
            if (!of.lead.empty() && !what.starts_with(of.lead + " "))
                name += " " + (part.kind == PartKind::socket ? electrode_words(of.lead) : of.lead);
            const bool danger = part.kind == PartKind::capacitor || stress > soon * rated;
            const Outcome<Condition> condition = Condition::parse(in);
            rows.push_back({stress / rated,
                            danger,
                            {name, what, words(stress), words(rated), condition ? cut_short(*condition) : in,
                             danger ? "DANGER" : ""}});
        };
        bool volts_told = false;
        for (const StressRating& one : of.ratings) {
            if (one.rating_over_stress >= 1 || one.quantity.ends_with(" low")) continue;
            volts_told = volts_told || one.unit == 'V';
            add(one.quantity, one.unit, one.stress, one.rated, one.scenario);
        }
        if (part.kind != PartKind::capacitor || !part.rated_volts || volts_told) continue;
        const StressAt* most = nullptr;
        for (std::size_t k = 0; k < of.scenarios.size(); ++k) {
            const bool known = std::none_of(part.leads.begin(), part.leads.end(), [&](const Lead& lead) {
                return lead.net < 0 || not_known(solved[k].solution.nets[static_cast<std::size_t>(lead.net)]);
            });
            if (known && (most == nullptr || of.scenarios[k].crest_volts > most->crest_volts)) most = &of.scenarios[k];
        }
        if (most != nullptr && most->crest_volts > *part.rated_volts)
            add("volts", 'V', most->crest_volts, *part.rated_volts, most->scenario);
    }
    if (std::any_of(solved.begin(), solved.end(),
                    [](const Solved& one) { return one.condition.scenario == Scenario::switch_on; }))
        page.paragraph(
            "Amperes and watts of the first second are judged against nothing: ratings are for running, and what flows "
            "here warms cold heaters. The first pulse into empty filters is over before, and is not among these "
            "figures; hold a rectifier to the hot-switching figure of its sheet, if it has one.");
    if (rows.empty()) return;
    std::stable_sort(rows.begin(), rows.end(),
                     [](const Row& a, const Row& b) { return a.danger != b.danger ? a.danger : a.share > b.share; });
    page.heading("beyond what they are made for");
    Table table({{"part", Align::left, true},
                 {"what", Align::left, true},
                 {"at worst", Align::right},
                 {"made for", Align::right},
                 {"in"},
                 {""}});
    for (Row& row : rows) table.row(std::move(row.cells));
    page.table(table);
    page.paragraph("Each at its worst of the conditions solved here; stress has all of them, and what comes near.");
}

void supply_table(Page& page, const Chassis& chassis, const std::vector<Solved>& solved) {
    std::vector<const Solved*> shown;
    for (const Solved& one : solved) {
        const int out = one.condition.scenario == Scenario::tube_out ? chassis.part(one.condition.tube) : -1;
        if (out < 0 || chassis.parts()[static_cast<std::size_t>(out)].type->is_rectifier()) shown.push_back(&one);
    }
    if (shown.size() < 2) {
        std::vector<int> pins;
        for (const Part& part : chassis.parts())
            for (const Lead& lead : part.leads)
                if (part.kind == PartKind::socket && lead.net >= 0) pins.push_back(lead.net);
        if (shown.empty()) return;
        const std::string text = out_of_sight(chassis, *shown.front(), pins);
        if (!text.empty()) page.point("DANGER, on no pin of a socket: " + text + ".");
        return;
    }
    page.heading("supply through the conditions: direct volts, crest in brackets");
    std::vector<Column> columns{{"condition", Align::left, true}, {"line", Align::right}};
    std::vector<int> nets;
    std::string legend;
    for (const auto& [net, why] : rails(chassis, shown.front()->solution)) {
        nets.push_back(net);
        const std::string name = chassis.nets()[static_cast<std::size_t>(net)].name;
        columns.push_back({name, Align::right});
        legend += (legend.empty() ? "" : ", ") + name + " is " + why;
    }
    const int battery = bench::leading_battery(chassis);
    const bool line = chassis.nodes().line_hot >= 0 && chassis.nodes().line_neutral >= 0;
    legend += "; drawn is what " + (line || battery < 0 ? std::string("the line gives")
                                                        : chassis.parts()[static_cast<std::size_t>(battery)].id +
                                                              " gives, the watts those of all batteries");
    columns.push_back({"drawn", Align::right});
    columns.push_back({"watts", Align::right});
    Table table(columns);
    for (const Solved* one : shown) {
        const Solution& solution = one->solution;
        std::vector<std::string> cells{cut_short(one->condition),
                                       in_band(solution.line_volts, solution.line_volts, solution.line_volts) + " V"};
        for (const int n : nets) {
            const NetVolts& net = solution.nets[static_cast<std::size_t>(n)];
            const double dc = net.dc.value(), crest = dc < 0 ? net.trough.value() : net.crest.value();
            if (not_known(net)) {
                cells.emplace_back("-");
            } else if (unfed(chassis, net)) {
                cells.emplace_back("about 0");
            } else if (std::fabs(dc) < 0.05) {
                cells.emplace_back("0");
            } else if (std::fabs(dc) < 5) {
                cells.push_back(two_figures(dc));
            } else {
                cells.push_back(in_band(dc, dc, dc) + (std::fabs(crest) > 1.01 * std::fabs(dc)
                                                           ? " (" + in_band(crest, crest, crest) + ")"
                                                           : std::string()));
            }
        }
        cells.push_back(say(solution.drawn));
        cells.push_back(two_figures(solution.line_watts.value()));
        table.row(std::move(cells));
    }
    page.table(table);
    if (!legend.empty()) page.paragraph(legend + ".");
    for (const Solved* one : shown)
        if (const std::string text = out_of_sight(chassis, *one, nets); !text.empty())
            page.point("DANGER, " + cut_short(one->condition) + ": " + text + ".");
}

/// Direct amperes worth printing beside what alternates.
std::string direct_words(const Branch& branch) {
    const double dc = std::fabs(branch.dc.value());
    return dc < 1e-7 || dc < 1e-3 * branch.rms.value() ? std::string("-") : say(amps(dc));
}

std::string watts_words(const Branch& branch) {
    return branch.watts.value() < 0.005 ? std::string("-") : two_figures(branch.watts.value());
}

/// The nets at the ends of a winding, of its half or of a coil.
std::pair<int, int> ends_of(const Part& part, const std::string& lead) {
    const auto net = [&](std::size_t at) { return at < part.leads.size() ? part.leads[at].net : -1; };
    for (const PartWinding& winding : part.windings)
        for (std::size_t half = 0; half + 1 < winding.leads.size(); ++half) {
            const std::string name =
                winding.leads.size() > 2 ? winding.name + "." + std::to_string(half + 1) : winding.name;
            if (name == lead)
                return {net(static_cast<std::size_t>(winding.leads[half])),
                        net(static_cast<std::size_t>(winding.leads[half + 1]))};
        }
    return part.windings.empty() ? std::pair{net(0), net(1)} : std::pair{-1, -1};
}

/// The alternating volts from end to end of a winding. Its band is that of an end that sees the whole of it; the ends
/// of one that a bridge lets float have bands of their own.
std::string across_words(const Chassis& chassis, const Solution& solution, const Branch& branch) {
    constexpr double sees = 0.1;
    const double rms = branch.volts_rms.value();
    if (rms < 0.05) return "-";
    const auto [from, to] = ends_of(chassis.parts()[static_cast<std::size_t>(branch.part)], branch.lead);
    double own = 0, low = rms, high = rms;
    for (const int end : {from, to}) {
        if (end < 0 || end == chassis.reference()) continue;
        const NetVolts& net = solution.nets[static_cast<std::size_t>(end)];
        const double here = net.rms.value();
        if (not_known(net) || here <= own || here < std::fabs(net.dc.value()) || std::fabs(here - rms) > sees * rms)
            continue;
        own = here;
        low = rms * net.rms_low.value() / own;
        high = rms * net.rms_high.value() / own;
    }
    std::string text = banded_alternating(rms, low, high);
    return text.erase(text.find(" V ac"), 5);
}

/// On iron that carries the supply, or sound: all its windings are listed, what flows in them or not.
bool on_iron(const Part& part) {
    for (const char* role : {"power", "vibrator", "output", "interstage", "field", "choke"})
        if (part.role == role) return true;
    return false;
}

/// A winding of a supply transformer that direct current passes one way more than the other, as behind one diode alone.
/// Of a winding with a tap the halves' currents cancel in the core as far as they are equal.
struct OneWay {
    std::string part, winding;
    double amps = 0;
};
std::vector<OneWay> one_way(const Chassis& chassis, const Solution& solution) {
    constexpr double unbalanced = 0.1;  // of what its halves carry in all: a pair of plates comes nearer (declared)
    constexpr double counts = 0.01;     // of the primary's volt-amperes (declared)
    std::vector<OneWay> found;
    for (std::size_t p = 0; p < chassis.parts().size(); ++p) {
        const Part& part = chassis.parts()[p];
        if (part.kind != PartKind::transformer || (part.role != "power" && part.role != "vibrator")) continue;
        const auto of = [&](const PartWinding& winding, const Branch& branch) {
            return branch.part == static_cast<int>(p) &&
                   (branch.lead == winding.name || branch.lead.starts_with(winding.name + "."));
        };
        double fed = 0;  // volt-amperes
        for (const PartWinding& winding : part.windings)
            for (const Branch& branch : solution.branches)
                if (winding.role == WindingRole::primary && of(winding, branch))
                    fed = std::max(fed, branch.volts_rms.value() * branch.rms.value());
        for (const PartWinding& winding : part.windings) {
            double net = 0, whole = 0, most = 0;
            for (const Branch& half : solution.branches) {
                if (!of(winding, half)) continue;
                const double volts = half.volts_rms.value();  // as its turns
                net += volts * half.dc.value();
                whole += volts * std::fabs(half.dc.value());
                most = std::max(most, volts);
            }
            if (whole > counts * fed && std::fabs(net) > unbalanced * whole)
                found.push_back({part.id, winding.name, std::fabs(net) / most});
        }
    }
    return found;
}

void one_way_words(Page& page, const std::vector<OneWay>& windings) {
    std::string text;
    for (const OneWay& one : windings)
        text += (text.empty() ? "" : ", ") + one.part + " " + one.winding + " carries " + say(amps(one.amps));
    if (text.empty()) return;
    page.paragraph(text +
                   " of direct current one way, and nothing balances it: it magnetises the core beforehand. The "
                   "transformer then draws more from the line and runs hotter than these figures tell, for iron that "
                   "saturates is not solved; how much this one bears is not known.");
}

/// "T1 plate.1", "L1 choke"; an interstage transformer's windings without the word for what it is.
std::string winding_words(const Part& part, const std::string& lead) {
    constexpr std::string_view between = "interstage-";
    if (part.kind == PartKind::coil) return part.id + " " + part.role.str();
    return part.id + " " + (lead.starts_with(between) ? lead.substr(between.size()) : lead);
}

void currents(Page& page, const Chassis& chassis, const Solution& solution, bool all) {
    Table windings({{"winding", Align::left, true},
                    {"V ac, end to end", Align::right},
                    {"direct", Align::right},
                    {"rms", Align::right},
                    {"peak", Align::right},
                    {"copper W", Align::right}});
    bool apart = false;  // a winding that no probe on the black clip reads
    Table tubes({{"tube", Align::left, true},
                 {"electrode"},
                 {"direct", Align::right},
                 {"peak", Align::right},
                 {"watts", Align::right}});
    Table others({{"part", Align::left, true},
                  {"lead"},
                  {"direct", Align::right},
                  {"rms", Align::right},
                  {"peak", Align::right},
                  {"watts", Align::right}});
    for (const Branch& branch : solution.branches) {
        const Part& part = chassis.parts()[static_cast<std::size_t>(branch.part)];
        const bool runs = std::fabs(branch.rms.value()) > 1e-4;
        if (part.kind == PartKind::transformer || part.kind == PartKind::coil) {
            if (all || on_iron(part)) {
                const auto [from, to] = ends_of(part, branch.lead);
                const bool whole = branch.lead.find('.') == std::string::npos;
                const bool primary = branch.lead.starts_with("primary");
                apart = apart || ((part.role == "power" || part.role == "vibrator") && whole && !primary && from >= 0 &&
                                  from != chassis.reference() && to != chassis.reference());
                // under a microampere a winding passes nothing
                const auto words = [](double x) { return std::fabs(x) < 1e-6 ? std::string("-") : say(amps(x)); };
                windings.row({winding_words(part, branch.lead), across_words(chassis, solution, branch),
                              std::fabs(branch.dc.value()) < 1e-6 ? "-" : direct_words(branch),
                              words(branch.rms.value()), words(branch.peak.value()), watts_words(branch)});
            }
        } else if (part.kind == PartKind::socket) {
            if (branch.lead.starts_with("h.") && !all) continue;
            if (all || runs)
                tubes.row({part.id + " " + part.tube, electrode_words(branch.lead), direct_words(branch),
                           say(branch.peak), watts_words(branch)});
        } else if (all) {
            others.row(
                {part.id, branch.lead, direct_words(branch), say(branch.rms), say(branch.peak), watts_words(branch)});
        }
    }
    if (!windings.empty()) {
        page.heading("windings, each half by itself");
        page.table(windings);
        if (apart)
            page.paragraph(
                "\"V ac, end to end\": with a probe on either end of the winding. Where neither is the black clip's "
                "net "
                "that is no figure of its ends by themselves.");
        one_way_words(page, one_way(chassis, solution));
    }
    if (!tubes.empty()) {
        page.heading("tubes: currents and what each electrode has to get rid of");
        page.table(tubes);
    }
    if (!others.empty()) {
        page.heading("all other parts");
        page.table(others);
    }
}

constexpr double flares = 1.15;  ///< of its volts: a heater brighter than it is made for
constexpr double lamp_bursts = 1.5;

/// How a dial lamp looks at a share of its volts (declared, as the series lamp's words are).
std::string lamp_word(double share) {
    if (share < 0.10) return "dark";
    if (share < 0.25) return "dull red";
    if (share < 0.50) return "orange";
    if (share < 0.80) return "yellow";
    if (share < flares) return "white";
    return share < lamp_bursts ? "white, flares" : "white, flares, will not live long";
}

/// What burns brightest: heaters and dial lamps against what they are made for.
void heater_table(Page& page, const Chassis& chassis, const Solution& solution) {
    if (solution.heaters.empty()) return;
    page.heading("heaters and dial lamps");
    const bool warms = std::any_of(solution.heaters.begin(), solution.heaters.end(),
                                   [](const HeaterVolts& heater) { return heater.warming > 0; });
    Table table({{"part"},
                 {"volts", Align::right},
                 {"made for", Align::right},
                 {"share", Align::right},
                 {warms ? "warming, at most" : "", warms ? Align::right : Align::left},
                 {""}});
    const auto percent = [](double of) { return (of < 1e-3 ? std::string("0") : two_figures(100 * of)) + " %"; };
    for (const HeaterVolts& heater : solution.heaters) {
        const Part& part = chassis.parts()[static_cast<std::size_t>(heater.part)];
        const double share = std::max(heater.brightest, heater.warming);
        const std::string name = part.id + (part.tube.empty() ? std::string() : " " + part.tube.str());
        const std::string word = part.kind == PartKind::lamp ? lamp_word(share) : share > flares ? "flares" : "";
        const bool parted = heater.brightest - heater.dimmest > 0.02;
        std::vector<std::string> row{
            name, say(heater.across), say(heater.rated),
            (parted ? two_figures(100 * heater.dimmest) + " to " : std::string()) + percent(heater.brightest)};
        row.push_back(!warms ? word : heater.warming > 0 ? percent(heater.warming) : std::string("-"));
        row.push_back(warms ? word : std::string());
        table.row(row);
    }
    page.table(table);
}

void net_table(Page& page, const Chassis& chassis, const Solution& solution, const Meter& meter) {
    page.heading("every net");
    Table table({{"net", Align::left, true},
                 {"volts", Align::right},
                 {"on your meter", Align::right},
                 {"ripple", Align::right},
                 {"seen from", Align::right}});
    for (const NetVolts& net : solution.nets)
        table.row({net.name, volts_cell(chassis, solution, net), meter_cell(chassis, solution, net, meter),
                   ripple_cell(chassis, solution, net),
                   not_known(net)           ? "-"
                   : net.source.value() < 0 ? "not determined"
                                            : say(net.source)});
    page.table(table);
    page.paragraph(
        "\"Seen from\": the resistance that a meter works against there. None is determined where a meter would raise "
        "the volts (a rectifier that nothing else loads), and for the supply's own nets of a very large set.");
}

Json net_row(const Chassis& chassis, const Solved& one, const NetVolts& net, const Meter& meter) {
    Json pins = Json::array();
    for (const LeadRef ref : chassis.nets()[static_cast<std::size_t>(net.net)].leads) {
        if (chassis.parts()[static_cast<std::size_t>(ref.part)].kind == PartKind::socket)
            pins.push_back(chassis.lead_name(ref));
    }
    // of a net that nothing feeds the laws near 0 V give a figure; it stands somewhere between that and nothing
    const bool known = !not_known(net), rests = unfed(chassis, net);
    const auto value = [&](double v) { return known ? number(v) : Json(); };
    // band and meter are of the direct volts: on a net that alternates they would pass for its own
    const auto direct = [&](double v) { return known && !mostly_ac(net) ? number(v) : Json(); };
    const auto end = [&](double v) { return net.open_grid ? number(v) : direct(v); };
    // what alternates has a band of its own; of mere ripple there is none
    const double rms = net.rms.value();
    const bool banded = rms > 0.5 && (rms > std::fabs(net.dc.value()) || net.rms_high > net.rms_low);
    const std::optional<ToTap> ends = to_tap(chassis, one.solution, net);
    return {{"net", net.name},
            {"pins", std::move(pins)},
            {"scenario", one.condition.text()},
            {"dc_volts", value(net.dc.value())},
            {"low_volts", end(rests ? std::min(net.low.value(), 0.0) : net.low.value())},
            {"high_volts", end(rests ? std::max(net.high.value(), 0.0) : net.high.value())},
            {"rms_volts", value(net.rms.value())},
            {"rms_low_volts", banded ? value(net.rms_low.value()) : Json()},
            {"rms_high_volts", banded ? value(net.rms_high.value()) : Json()},
            {"tap", ends ? Json(chassis.nets()[static_cast<std::size_t>(ends->tap)].name) : Json()},
            {"to_tap_rms_volts", ends ? number(ends->volts) : Json()},
            {"to_tap_low_volts", ends ? number(ends->low) : Json()},
            {"to_tap_high_volts", ends ? number(ends->high) : Json()},
            {"ripple_volts_pp", value(net.ripple_pp.value())},
            {"ripple_hertz", net.ripple_hertz > 0 ? number(net.ripple_hertz) : Json()},
            {"trough_volts", value(net.trough.value())},
            {"crest_volts", value(net.crest.value())},
            {"source_ohms", net.source.value() < 0 ? Json() : value(net.source.value())},
            {"meter_volts", past_range(meter, net.meter.value()) ? Json() : direct(net.meter.value())},
            {"undetermined", not_known(net)},
            {"unfed", rests}};
}

Json branch_row(const Chassis& chassis, const Solved& one, const Branch& branch) {
    return {{"part", chassis.parts()[static_cast<std::size_t>(branch.part)].id},
            {"lead", branch.lead},
            {"scenario", one.condition.text()},
            {"dc_amps", number(branch.dc.value())},
            {"rms_amps", number(branch.rms.value())},
            {"peak_amps", number(branch.peak.value())},
            {"watts", number(branch.watts.value())},
            {"dc_volts", number(branch.volts_dc.value())},
            {"ac_volts_rms", number(branch.volts_rms.value())},
            {"peak_volts", number(branch.volts_peak.value())}};
}

Json section_rows(const HeaterVolts& heater) {
    Json rows = Json::array();
    for (const HeaterSection& section : heater.sections)
        rows.push_back({{"lead", section.lead},
                        {"volts_rms", number(section.across.value())},
                        {"rated_volts", number(section.rated.value())}});
    return rows;
}

}  // namespace

Answer report_volts(const Study& study, const ReportOptions& options) {
    const Chassis& chassis = study.as_it_stands();
    std::vector<Condition> wanted;
    if (options.scenario.empty()) {
        wanted = study.scenarios();
        // what a driven output stage bears is asked for by stress, not by a meter
        if (options.format != Format::json && !options.all)
            std::erase_if(wanted, [](const Condition& one) { return one.scenario == Scenario::signal_peak; });
    } else if (const Outcome<Condition> one = Condition::parse(options.scenario)) {
        wanted.push_back(*one);
    }
    std::vector<Solved> solved;
    std::vector<Notice> failed, doubtful;
    for (const Condition& condition : wanted) {
        const Outcome<VoltsView> view = study.volts(condition);
        if (view) {
            solved.push_back({condition, view->solution()});
            for (Notice why : view.notices())
                if (std::none_of(doubtful.begin(), doubtful.end(), [&](const Notice& one) {
                        return one.number == why.number && one.place.line == why.place.line;
                    })) {
                    if (condition.scenario != Scenario::normal) why.message = condition.text() + ": " + why.message;
                    doubtful.push_back(std::move(why));
                }
        } else {
            for (Notice why : view.notices()) {
                if (why.number != messages::does_not_apply) why.message = condition.text() + ": " + why.message;
                failed.push_back(std::move(why));
            }
            if (&condition == &wanted.front()) break;
        }
    }
    const bool none = solved.empty();
    const bool foreign = none && std::all_of(failed.begin(), failed.end(),
                                             [](const Notice& why) { return why.number == messages::does_not_apply; });
    if (options.format == Format::json) {
        Json json = envelope("volts", study, none ? std::vector<Assumption>{} : solved.front().solution.assumptions);
        Json branches = Json::array(), heaters = Json::array(), core = Json::array(), conditions_json = Json::array(),
             left_out = Json::array();
        for (const Solved& one : solved) {
            conditions_json.push_back({{"scenario", one.condition.text()},
                                       {"line_volts", number(one.solution.line_volts)},
                                       {"line_hertz", number(one.solution.line_hertz)},
                                       {"drawn_amps", number(one.solution.drawn.value())},
                                       {"primary_amps_rms", number(one.solution.primary_rms.value())},
                                       {"primary_amps_peak", number(one.solution.primary_peak.value())},
                                       {"line_watts", number(one.solution.line_watts.value())},
                                       {"method", one.solution.solver.method},
                                       {"worst_kcl_amps", number(one.solution.solver.worst_kcl_amps)},
                                       {"start_points_agree", one.solution.solver.start_points_agree}});
            for (const NetVolts& net : one.solution.nets)
                json["rows"].push_back(net_row(chassis, one, net, study.policy().meter));
            for (const Branch& branch : one.solution.branches) branches.push_back(branch_row(chassis, one, branch));
            for (const HeaterVolts& heater : one.solution.heaters)
                heaters.push_back({{"scenario", one.condition.text()},
                                   {"part", chassis.parts()[static_cast<std::size_t>(heater.part)].id},
                                   {"volts_rms", number(heater.across.value())},
                                   {"rated_volts", number(heater.rated.value())},
                                   {"dimmest_share", number(heater.dimmest)},
                                   {"brightest_share", number(heater.brightest)},
                                   {"warming_share", heater.warming > 0 ? number(heater.warming) : Json()},
                                   {"sections", section_rows(heater)}});
            for (const OneWay& winding : one_way(chassis, one.solution))
                core.push_back({{"part", winding.part},
                                {"winding", winding.winding},
                                {"scenario", one.condition.text()},
                                {"net_dc_amps", number(winding.amps)}});
        }
        for (const Notice& why : failed) left_out.push_back(why.message);
        json["branches"] = std::move(branches);
        json["heaters"] = std::move(heaters);
        json["core_direct"] = std::move(core);
        json["conditions"] = std::move(conditions_json);
        json["left_out"] = std::move(left_out);
        json["doubts"] = Json::array();
        for (const Notice& why : doubtful) json["doubts"].push_back(why.message);
        small_signal_json(
            json, chassis,
            none ? Outcome<SmallSignal>(std::vector<Notice>{}) : study.small_signal(solved.front().condition));
        if (none && !foreign) return refusal_json(std::move(json), failed);
        return {dumped(json), stops(study), false};
    }
    if (none && !foreign) return refused(study, "volts", failed, options);

    Page page(options.colour);
    if (none) {
        set_words(page, study, "volts");
        for (const Notice& why : failed) page.paragraph(why.message + ".");
        return {page.take(), stops(study), false};
    }
    const Solved& first = solved.front();
    set_words(page, study,
              first.condition.scenario == Scenario::normal ? std::string("volts")
                                                           : "volts, " + scenario_words(first.condition));
    as_found(page, study, first.condition.scenario == Scenario::as_found);
    conditions(page, study, true, &first.solution);
    doubts(page, doubtful);
    for (const Notice& why : failed)
        page.point(why.number == messages::does_not_apply ? why.message : "DOUBT: no solution for " + why.message);
    const Scenario which = first.condition.scenario;
    if (options.all || which == Scenario::switch_on || which == Scenario::dial_lamp_out)
        heater_table(page, chassis, first.solution);
    socket_cards(page, study, first.solution, options.all);
    supply_table(page, chassis, solved);
    over_rating(page, study, solved);
    currents(page, chassis, first.solution, options.all);
    if (options.all) {
        net_table(page, chassis, first.solution, study.policy().meter);
        if (const Outcome<SmallSignal> found = study.small_signal(first.condition))
            small_signal_tables(page, chassis, *found);
    } else {
        page.blank();
        page.paragraph(
            "--all adds every net with its source resistance, every part's current, the gain of each stage and the "
            "tuned "
            "circuits; --scenario NAME prints another condition in full.");
    }
    assumed(page, study, options.all, first.solution.assumptions);
    cautions(page, study.cautions(), options.all);
    return {page.take(), stops(study), false};
}

}  // namespace tubewright
