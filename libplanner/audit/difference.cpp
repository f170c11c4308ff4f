// SPDX-License-Identifier: MIT
// What differs between two files of one set, told in the trade's words from a matching of their graphs: nets that are
// two in one set and one in the other, leads that stand elsewhere or change places, parts that only one set has, and
// figure by figure what matched parts do not share. Alike words of many parts are said once.
// Tests: tests/audit/difference_test.cpp.
#include <algorithm>
#include <map>
#include <set>
#include <tuple>

#include <tubewright/audit.hpp>

#include "audit/electrodes.hpp"
#include "audit/matching.hpp"
#include "audit/wording.hpp"
#include "chassis/data.hpp"
#include "terms/period_value.hpp"

namespace tubewright {
namespace {

using namespace audit;
using Kind = DifferenceKind;

constexpr int most_leads = 4;         ///< said of a net
constexpr std::size_t said_once = 3;  ///< parts of which the same is said

std::size_t at(int index) {
    return static_cast<std::size_t>(index);
}

struct Figure {
    Kind kind;
    const char *what, *unit;
    Measure measure;
    OptionalNumber Part::*field;
};
constexpr Figure figures[] = {
    {Kind::value, "resistance", "ohms", Measure::ohms, &Part::ohms},
    {Kind::value, "capacitance", "farads", Measure::farads, &Part::farads},
    {Kind::value, "inductance", "henries", Measure::henries, &Part::henries},
    {Kind::value, "tuned to", "kilohertz", Measure::kilohertz, &Part::kilohertz},
    {Kind::value, "current drawn", "amps", Measure::amps, &Part::drawn_amps},
    {Kind::value, "cycles", "hertz", Measure::hertz, &Part::hertz},
    {Kind::rating, "rated volts", "volts", Measure::volts, &Part::rated_volts},
    {Kind::rating, "rated watts", "watts", Measure::watts, &Part::rated_watts},
    {Kind::rating, "rated amperes", "amps", Measure::amps, &Part::rated_amps},
    {Kind::rating, "rated volt-amperes", "volt_amperes", Measure::volt_amperes, &Part::rated_va},
    {Kind::rating, "tolerance", "share", Measure::per_cent, &Part::tolerance},
};

/// "470K", ".02 mfd", "400 V"; empty where nobody says.
std::string said(const std::optional<double>& value, Measure measure) {
    if (!value) return {};
    static const std::map<Measure, const char*> units{{Measure::volts, " V"},      {Measure::watts, " W"},
                                                      {Measure::hertz, " cycles"}, {Measure::volt_amperes, " VA"},
                                                      {Measure::per_cent, " %"},   {Measure::kilohertz, " kc"}};
    const auto unit = units.find(measure);
    std::string text = printed(measure == Measure::per_cent ? *value * 100 : *value, measure);
    if (unit != units.end()) text += unit->second;
    if (measure == Measure::ohms && *value < 1000) text += " ohms";
    return text;
}

/// ".02 mfd 400 V": what a part is known by.
std::string known_by(const Part& part) {
    std::string text = word(part.kind);
    const auto add = [&](const std::string& word) { text += (word.empty() ? "" : " ") + word; };
    if (part.kind != PartKind::resistor) add(part.role);
    add(part.tube);
    add(part.lamp_type);
    for (const Figure& figure : figures)
        if (figure.measure != Measure::per_cent && figure.measure != Measure::kilohertz)
            add(said(part.*figure.field, figure.measure));
    return text;
}

/// "grid", "cathode/suppressor"; empty for what is no pin of a known tube.
std::string pin_words(const Part& part, int lead) {
    std::string text, last;
    if (part.kind != PartKind::socket) return text;
    for (const PinElectrode& one : electrodes_of(part)) {
        const std::string name = trade_name(part, one);
        if (one.lead != lead || one.electrode == Electrode::unused || name == last) continue;
        text += (text.empty() ? "" : "/") + name;
        last = name;
    }
    return text;
}

class Telling {
  public:
    Telling(const Graph& here, const Graph& there, const Matching& matching)
        : graph_{&here, &there}, match_(matching) {}

    Differences told() {
        nets();
        nodes();
        for (std::size_t p = 0; p < g(0).items.size(); ++p) {
            const int one = static_cast<int>(p), q = mate(0, one);
            if (q < 0) continue;
            leads(one, q);
            if (g(0).winding(one) != nullptr)
                winding(one, q);
            else
                part(one, q);
        }
        for (const int s : {0, 1}) only_one_has(s);
        line();
        said_together();
        std::stable_sort(rows_.begin(), rows_.end(), [](const Row& x, const Row& y) {
            return std::tie(x.said.kind, x.order) < std::tie(y.said.kind, y.order);
        });
        Differences all;
        for (Row& row : rows_) all.rows.push_back(std::move(row.said));
        for (std::size_t p = 0; p < g(0).items.size(); ++p) {
            const int one = static_cast<int>(p), q = mate(0, one);
            if (q < 0 || g(0).winding(one) != nullptr || g(0).part(one).id == g(1).part(q).id) continue;
            all.renamed.emplace_back(g(0).part(one).id, g(1).part(q).id);
        }
        return all;
    }

  private:
    struct Row {
        Difference said;
        std::pair<int, int> order;  ///< lines, here and there
    };
    const Graph& g(int side) const { return *graph_[at(side)]; }
    int mate(int side, int item) const { return match_.side[at(side)].mate[at(item)]; }

    Difference& row(Kind kind, int p, int q, std::string what, std::string here, std::string there) {
        Difference made;
        made.kind = kind;
        made.what = std::move(what);
        made.here = std::move(here);
        made.there = std::move(there);
        if (p >= 0) {
            made.parts = {g(0).part(p).id};
            made.place = g(0).part(p).place;
        }
        if (q >= 0) {
            made.other_parts = {g(1).part(q).id};
            made.other_place = g(1).part(q).place;
        }
        rows_.push_back({std::move(made), {p >= 0 ? p : 1 << 30, q}});
        return rows_.back().said;
    }
    /// The nets that the last row is about.
    void on(const std::vector<int>& here, const std::vector<int>& there) {
        Difference& last = rows_.back().said;
        for (const int net : here)
            if (net >= 0) last.nets.push_back(g(0).set.nets()[at(net)].name);
        for (const int net : there)
            if (net >= 0) last.other_nets.push_back(g(1).set.nets()[at(net)].name);
    }
    void words(Kind kind, int p, int q, const std::string& what, const std::string& x, const std::string& y) {
        if (x != y) row(kind, p, q, what, x, y);
    }
    void yes_no(Kind kind, int p, int q, const std::string& what, bool x, bool y, const char* yes, const char* no) {
        words(kind, p, q, what, x ? yes : no, y ? yes : no);
    }
    void figure(Kind kind, int p, int q, const std::string& what, const char* unit, Measure measure,
                const std::optional<double>& x, const std::optional<double>& y) {
        if (x == y) return;
        Difference& made = row(kind, p, q, what, said(x, measure), said(y, measure));
        made.unit = unit;
        made.here_number = x;
        made.there_number = y;
    }

    // ---- what parts are

    void part(int p, int q) {
        const Part &x = g(0).part(p), &y = g(1).part(q);
        const std::size_t before = rows_.size();
        for (const Figure& f : figures) figure(f.kind, p, q, f.what, f.unit, f.measure, x.*f.field, y.*f.field);
        const bool capacitor = x.kind == PartKind::capacitor;
        figure(Kind::value, p, q, "as found", capacitor ? "farads" : "ohms",
               capacitor ? Measure::farads : Measure::ohms, x.found_value, y.found_value);
        figure(Kind::value, p, q, "closed share of the time", "share", Measure::per_cent, x.duty, y.duty);
        const bool bases = x.type != nullptr && y.type != nullptr && x.type->base != y.type->base;
        const auto tube = [&](const Part& one) {
            return one.tube + (bases ? " on its " + one.type->base + " base" : "");
        };
        words(Kind::tube, p, q, "tube", tube(x), tube(y));
        words(Kind::tube, p, q, "lamp", x.lamp_type, y.lamp_type);
        words(Kind::construction, p, q, "role", x.role, y.role);
        yes_no(Kind::construction, p, q, "polarity", x.polarised, y.polarised, "plus and minus", "none");
        // a construction that nobody wrote follows from the rest
        if (x.construction_stated || y.construction_stated || rows_.size() == before)
            words(Kind::construction, p, q, "construction", x.construction, y.construction);
        yes_no(Kind::construction, p, q, "shell", x.insulated, y.insulated, "off the metal", "on the metal");
        yes_no(Kind::construction, p, q, "a hand", x.touch, y.touch, "reaches it", "does not reach it");
        const bool contacts = x.kind == PartKind::power_switch;
        yes_no(Kind::state, p, q, contacts ? "contacts" : "plugged", x.closed, y.closed, contacts ? "closed" : "in",
               contacts ? "open" : "out");
        yes_no(Kind::state, p, q, "passes", stands_open(x), stands_open(y), "nothing: seen open or missing",
               "what it should");
        const int plug = g(0).set.part(x.plug), other = g(1).set.part(y.plug);
        const bool one_plug =
            plug >= 0 && other >= 0 && mate(0, g(0).item_of_part[at(plug)]) == g(1).item_of_part[at(other)];
        if (!one_plug) words(Kind::state, p, q, "rides on the plug", x.plug, y.plug);
    }

    void winding(int p, int q) {
        const PartWinding &x = *g(0).winding(p), &y = *g(1).winding(q);
        const std::string name = x.name + " winding, ";
        words(Kind::construction, p, q, name + "role", word(x.role), word(y.role));
        figure(Kind::value, p, q, name + "volts", "volts", Measure::volts, x.volts, y.volts);
        figure(Kind::value, p, q, name + "impedance", "ohms", Measure::ohms, x.impedance_ohms, y.impedance_ohms);
        figure(Kind::value, p, q, name + "inductance", "henries", Measure::henries, x.henries, y.henries);
        figure(Kind::value, p, q, name + "coupling", "share", Measure::per_cent, x.coupling, y.coupling);
        figure(Kind::rating, p, q, name + "amperes", "amps", Measure::amps, x.amps, y.amps);
        const bool turned = match_.side[0].way[at(p)] == Way::turned;
        const auto list = [&](const char* what, Measure measure, const auto& one, auto other) {
            if (turned) std::reverse(other.begin(), other.end());
            const auto all = [&](const std::vector<double>& list_of) {
                std::string text;
                for (const double value : list_of) text += (text.empty() ? "" : " and ") + said(value, measure);
                return text;
            };
            words(Kind::value, p, q, name + what, all(one), all(other));
        };
        list("volts without load", Measure::volts, x.noload_volts, y.noload_volts);
        list("resistance", Measure::ohms, x.ohms, y.ohms);
        list("impedances", Measure::ohms, x.tap_ohms, y.tap_ohms);
    }

    void line() {
        const LineSpec &x = g(0).set.line(), &y = g(1).set.line();
        const auto cycles = [](double hertz) { return hertz > 0 ? said(hertz, Measure::hertz) : "direct current"; };
        figure(Kind::rating, -1, -1, "line volts", "volts", Measure::volts, x.volts, y.volts);
        words(Kind::rating, -1, -1, "line cycles", cycles(x.hertz), cycles(y.hertz));
        figure(Kind::rating, -1, -1, "watts of the label", "watts", Measure::watts, x.watts, y.watts);
        words(Kind::rating, -1, -1, "supply of the label", x.supply, y.supply);
    }

    // ---- what stands where

    /// The other leads of a net, pins first.
    std::string leads_on(int s, int net, int but_part = -1, int most = most_leads) const {
        const Chassis& set = g(s).set;
        std::vector<std::string> names[2];
        for (const LeadRef ref : set.nets()[at(net)].leads) {
            const int item = g(s).item_of_part[at(ref.part)];
            if (ref.part == but_part || item < 0 || g(s).joins(item)) continue;
            const Part& part = set.parts()[at(ref.part)];
            const std::string is = pin_words(part, ref.lead);
            names[part.kind == PartKind::socket ? 0 : 1].push_back(set.lead_name(ref) + (is.empty() ? "" : " " + is));
        }
        std::string text;
        int count = 0;
        for (const auto& list : names)
            for (const std::string& name : list)
                if (++count <= most) text += (text.empty() ? "" : ", ") + name;
        if (count > most && most > 1) text += " and " + std::to_string(count - most) + " more";
        return text;
    }
    /// A net as people know it: its word, or the leads on it.
    std::string net_words(int s, int net, int but_part = -1, int most = most_leads) const {
        if (net < 0) return {};
        const std::string& name = g(s).set.nets()[at(net)].name;
        return name.find('.') == std::string::npos ? name : leads_on(s, net, but_part, most);
    }
    /// "on bplus", "with V4.4, R10.a", "alone"; what the other set calls it, where that is another word.
    std::string stands(int s, int net, int part, int other_part) const {
        const std::string known = net_words(s, net, part);
        if (known.empty() || leads_on(s, net, part).empty()) return "alone";
        const bool by_word = g(s).set.nets()[at(net)].name.find('.') == std::string::npos;
        std::string text = (by_word ? "on " : "with ") + known;
        if (s == 0) return text;
        const int here = match_.side[1].net_mate[at(net)];
        const std::string called = here < 0 ? "" : net_words(0, here, other_part);
        if (!called.empty() && called != known) text += ", here called " + called;
        return text;
    }
    static std::string lead_words(const Part& part, int lead) {
        const std::string& name = part.leads[at(lead)].name;
        const std::string is = pin_words(part, lead);
        return (part.kind == PartKind::socket ? "pin " : "lead ") + name + (is.empty() ? "" : " (" + is + ")");
    }

    struct Moved {
        int lead, other_lead, n, m;
    };
    bool lone(int s, int net) const { return net < 0 || g(s).on[at(net)].size() < 2; }
    bool agree(int n, int m) const { return match_.agree(n, m) || (lone(0, n) && lone(1, m)); }
    /// Nothing but parts that only one set has is on the net: their rows say so.
    bool only_new(int s, int net, int item) const {
        return std::all_of(g(s).on[at(net)].begin(), g(s).on[at(net)].end(),
                           [&](const auto& end) { return end.first == item || mate(s, end.first) < 0; });
    }

    void leads(int p, int q) {
        const Part &x = g(0).part(p), &y = g(1).part(q);
        const Item &one = g(0).of(p), &other = g(1).of(q);
        const Way way = match_.side[0].way[at(p)];
        std::vector<Moved> moved;
        std::set<int> has[2];
        for (const auto& [i, j] : laid(g(0), p, g(1), q, way)) {
            has[0].insert(i);
            has[1].insert(j);
            const Port &a = one.ports[at(i)], &b = other.ports[at(j)];
            if (a.lead < 0 || agree(a.net, b.net)) continue;
            if ((lone(0, a.net) && only_new(1, b.net, q)) || (lone(1, b.net) && only_new(0, a.net, p))) continue;
            moved.push_back({a.lead, b.lead, a.net, b.net});
        }
        if (is_turned(g(0), p, g(1), q, way)) {
            if (way == Way::mirrored) {
                row(Kind::turned, p, q, "pins", "counted from one side", "counted from the other");
            } else {
                const Port &plus = one.ports[0], &with = other.ports[0];
                row(Kind::turned, p, q, "turned end for end",
                    x.leads[at(plus.lead)].name + " " + stands(0, plus.net, one.part, other.part),
                    y.leads[at(with.lead)].name + " " + stands(1, with.net, other.part, one.part));
                on({plus.net, one.ports[1].net}, {with.net, other.ports[1].net});
            }
        }
        if (g(0).joins(p) && moved.size() > 1) moved.pop_back();
        for (std::size_t i = 0; i < moved.size(); ++i) {
            const auto with =
                std::find_if(moved.begin() + static_cast<std::ptrdiff_t>(i) + 1, moved.end(),
                             [&](const Moved& k) { return agree(moved[i].n, k.m) && agree(k.n, moved[i].m); });
            const Moved a = moved[i];
            if (with == moved.end()) {
                lead_row(p, q, a);
                continue;
            }
            const auto both = [&](int s, int n, int m) {
                const int of = s == 0 ? one.part : other.part, to = s == 0 ? other.part : one.part;
                return fill("{} {}; {} {}", {lead_words(x, a.lead), stands(s, n, of, to), lead_words(x, with->lead),
                                             stands(s, m, of, to)});
            };
            row(Kind::turned, p, q, "leads change places", both(0, a.n, with->n), both(1, a.m, with->m));
            on({a.n, with->n}, {a.m, with->m});
            moved.erase(with);
        }
        // a wiper, a tap, a pin of a plug that one of them lacks
        if (x.type != y.type) return;
        for (int i = 0; i < one.leads; ++i)
            if (const Port& a = one.ports[at(i)]; has[0].count(i) == 0 && !lone(0, a.net))
                row(Kind::lead, p, q, lead_words(x, a.lead), stands(0, a.net, one.part, other.part), "");
        for (int j = 0; j < other.leads; ++j)
            if (const Port& b = other.ports[at(j)]; has[1].count(j) == 0 && !lone(1, b.net))
                row(Kind::lead, p, q, lead_words(y, b.lead), "", stands(1, b.net, other.part, one.part));
    }
    void lead_row(int p, int q, const Moved& moved) {
        const int one = g(0).of(p).part, other = g(1).of(q).part;
        const Lead &x = g(0).part(p).leads[at(moved.lead)], &y = g(1).part(q).leads[at(moved.other_lead)];
        Difference& made = row(Kind::lead, p, q, lead_words(g(0).part(p), moved.lead), stands(0, moved.n, one, other),
                               stands(1, moved.m, other, one));
        on({moved.n}, {moved.m});
        if (x.place.line > 0) made.place = x.place;
        if (y.place.line > 0) made.other_place = y.place;
    }

    /// Nets that are several in one set and one in the other.
    void nets() {
        for (const int s : {0, 1}) {
            std::map<int, std::vector<int>> pieces;
            const std::vector<int>& part_of = match_.side[at(s)].part_of;
            for (std::size_t n = 0; n < part_of.size(); ++n)
                if (part_of[n] >= 0) pieces[part_of[n]].push_back(static_cast<int>(n));
            for (auto& [whole, list] : pieces) {
                if (wire_holds(1 - s, whole)) continue;  // its own row says so
                if (const int first = match_.side[at(1 - s)].net_mate[at(whole)]; first >= 0)
                    list.insert(list.begin(), first);
                const auto told = [&](int side, int net) {
                    const std::string known = net_words(side, net), on = leads_on(side, net);
                    return known == on ? on : known + " (" + on + ")";
                };
                std::string apart;
                for (const int piece : list) apart += (apart.empty() ? "" : " | ") + told(s, piece);
                const std::string one = told(1 - s, whole), count = std::to_string(list.size());
                Difference& made = s == 0 ? row(Kind::joined, -1, -1, count + " nets here are one there", apart, one)
                                          : row(Kind::split, -1, -1, "one net here is " + count + " there", one, apart);
                const Place &piece = g(s).set.nets()[at(list.back())].place,
                            &other = g(1 - s).set.nets()[at(whole)].place;
                made.place = s == 0 ? piece : other;
                made.other_place = s == 0 ? other : piece;
                on(s == 0 ? list : std::vector{whole}, s == 0 ? std::vector{whole} : list);
                rows_.back().order = {made.place.line, made.other_place.line};
            }
        }
    }
    bool wire_holds(int s, int net) const {
        return std::any_of(g(s).on[at(net)].begin(), g(s).on[at(net)].end(),
                           [&](const auto& end) { return g(s).joins(end.first) && mate(s, end.first) < 0; });
    }

    void nodes() {
        const NodeRoles &x = g(0).set.nodes(), &y = g(1).set.nodes();
        const auto node = [&](const char* what, int n, int m) {
            // a word that no part stands on is the same on both sides
            const auto bare = [&](int s, int net) { return net < 0 || g(s).set.nets()[at(net)].leads.empty(); };
            if (match_.agree(n, m) || (bare(0, n) && bare(1, m) && (n < 0) == (m < 0))) return;
            row(Kind::node, -1, -1, what, net_words(0, n), net_words(1, m));
            on({n}, {m});
        };
        node("chassis metal", x.chassis_metal, y.chassis_metal);
        node("B-minus", x.b_minus, y.b_minus);
        node("earth", x.earth, y.earth);
        node("line, hot", x.line_hot, y.line_hot);
        node("line, neutral", x.line_neutral, y.line_neutral);
        node("readings are taken from", g(0).set.reference(), g(1).set.reference());
        for (std::size_t i = 0; i < g(0).set.nets().size(); ++i) {
            const int n = static_cast<int>(i), m = match_.side[0].net_mate[i];
            const bool metal = n == x.chassis_metal || m == y.chassis_metal;
            if (m < 0 || (metal && !match_.agree(x.chassis_metal, y.chassis_metal))) continue;
            yes_no(Kind::node, -1, -1, "a hand on " + net_words(0, n), g(0).set.nets()[i].touch,
                   g(1).set.nets()[at(m)].touch, "can reach it", "cannot reach it");
        }
    }

    // ---- what only one set has

    void only_one_has(int s) {
        for (std::size_t i = 0; i < g(s).items.size(); ++i) {
            const int item = static_cast<int>(i);
            if (mate(s, item) >= 0) continue;
            const Item& one = g(s).of(item);
            const int of = mate(s, g(s).item_of_part[at(one.part)]);
            const PartWinding* winding = g(s).winding(item);
            if (winding != nullptr && of < 0) continue;
            std::string text = winding != nullptr ? winding->name + " winding " + said(winding->volts, Measure::volts)
                                                  : known_by(g(s).part(item));
            Kind kind = Kind::part;
            if (one.leads > 0 && one.leads < 4 && g(s).part(item).kind != PartKind::socket) {
                for (int k = 0; k < one.leads; ++k) {
                    const Port& port = one.ports[at(k)];
                    std::string end = net_words(s, port.net, one.part, 1);
                    // both ends of a wire are one net: as the file has them
                    if (g(s).joins(item)) end = g(s).set.data().written({one.part, port.lead});
                    text += (k > 0 ? " to " : one.leads > 1 ? ", from " : ", on ") + (end.empty() ? "nothing" : end);
                }
            }
            if (g(s).joins(item)) {
                const std::string apart = held_together(s, one.ports.empty() ? -1 : one.ports[0].net);
                if (apart.empty()) {
                    kind = Kind::construction;
                    text = "its ends are joined in the other file too";
                } else {
                    text += "; without it apart: " + apart;
                }
            }
            const std::string what =
                std::string(winding != nullptr ? "a winding " : "") + (s == 0 ? "only here" : "only there");
            if (s == 0)
                row(kind, item, winding != nullptr ? of : -1, what, text, "");
            else
                row(kind, winding != nullptr ? of : -1, item, what, "", text);
        }
    }
    std::string held_together(int s, int net) const {
        std::string text;
        for (std::size_t n = 0; net >= 0 && n < match_.side[at(1 - s)].part_of.size(); ++n)
            if (match_.side[at(1 - s)].part_of[n] == net)
                text += (text.empty() ? "" : " | ") + leads_on(1 - s, static_cast<int>(n));
        return text;
    }

    /// One row for many parts of which the same is said: another file-wide tolerance, paper where there was film.
    void said_together() {
        std::map<std::tuple<Kind, std::string, std::string, std::string>, std::vector<std::size_t>> alike;
        for (std::size_t i = 0; i < rows_.size(); ++i)
            if (const Difference& d = rows_[i].said; d.kind == Kind::rating || d.kind == Kind::construction)
                alike[{d.kind, d.what, d.here, d.there}].push_back(i);
        std::set<std::size_t> gone;
        for (const auto& [key, list] : alike) {
            if (list.size() < said_once) continue;
            Difference& first = rows_[list[0]].said;
            for (std::size_t k = 1; k < list.size(); ++k) {
                const Difference& more = rows_[list[k]].said;
                first.parts.insert(first.parts.end(), more.parts.begin(), more.parts.end());
                first.other_parts.insert(first.other_parts.end(), more.other_parts.begin(), more.other_parts.end());
                gone.insert(list[k]);
            }
        }
        std::size_t i = 0;
        std::erase_if(rows_, [&](const Row&) { return gone.count(i++) > 0; });
    }

    std::array<const Graph*, 2> graph_;
    const Matching& match_;
    std::vector<Row> rows_;
};

}  // namespace

const char* word(DifferenceKind kind) {
    static constexpr const char* words[] = {"turned", "lead", "joined", "split",  "node",        "state",
                                            "part",   "tube", "value",  "rating", "construction"};
    return words[static_cast<std::size_t>(kind)];
}

Differences differences(const Chassis& here, const Chassis& there) {
    const Graph a(here), b(there);
    const Matching matching = matched(a, b);
    return Telling(a, b, matching).told();
}

}  // namespace tubewright
