// SPDX-License-Identifier: MIT
// What to do with every part, and what to buy: age class and action, replacement value and rating from the solved worst
// case, the shopping list.
#pragma once

#include <map>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include <tubewright/ageing.hpp>
#include <tubewright/outcome.hpp>
#include <tubewright/stress.hpp>
#include <tubewright/threat.hpp>

namespace tubewright {

struct PartAction {
    int part = -1;
    std::string construction;
    int year = 0;        ///< built or replaced; 0 not known
    std::string action;  ///< replace, measure, leave, never-disturb
    AgeRisk risk;
    std::vector<std::string> reasons;
    std::string unfit;  ///< why what the log says was fitted cannot stay; empty: it can, or nothing was
};
/// `threats`: the solved consequences; replace-risky leaves what none of them makes dangerous. Without them the duty of
/// the part decides. What the log says was fitted is in `chassis`, but for what is wrong at sight.
TUBEWRIGHT_API std::vector<PartAction> actions_of(const Chassis& chassis, const Catalogue& catalogue,
                                                  const Policy& policy, std::span<const PartStress> stress,
                                                  const Progress& progress, std::span<const Threat> threats = {});
/// What is wrong at sight with new parts in their places, by id: another value, no class for the line. `drawn` is the
/// set as the file has it. What only a solution tells (over its rating) is told by actions_of().
TUBEWRIGHT_API std::map<std::string, std::string> wrong_at_sight(const Chassis& drawn, const Policy& policy,
                                                                 const std::map<std::string, Measured>& fitted);
/// What the solved stress asks of new parts with ratings of their own, and they do not bear: watts, volts with the
/// policy's margins, pulses. `stress`: of `chassis`, with them in. A rating that was not entered is as listed.
TUBEWRIGHT_API std::map<std::string, std::string> under_need(const Chassis& chassis, const Policy& policy,
                                                             std::span<const PartStress> stress,
                                                             const std::map<std::string, Measured>& fitted);

/// One line of the shopping list: one part number, for one or several places.
struct ShopLine {
    int line = 0;
    int quantity = 0;
    std::string what;   ///< "film capacitor", "electrolytic", "resistor", "Y2 capacitor", "cord" ...
    std::string group;  ///< safety, capacitors, resistors, cord and fuse, tubes, other
    std::string value_text;
    std::optional<double> value_farads, value_ohms, rated_volts, rated_watts;
    std::string safety_class;  ///< X2, Y2 or empty
    std::vector<std::string> for_parts;
    std::vector<int> pieces;            ///< of for_parts, one by one: how many of `quantity` it takes
    std::string price_row;              ///< row of the catalogue's table of steps that its price and minutes come from
    std::string next_smaller_fails_by;  ///< "400 V: stress .93 of rating, limit .80"
    std::optional<double> unit_cost, total_cost;
    std::string why;
    int spares = 0;       ///< to buy beyond `quantity`, which the set needs (common practice)
    std::string package;  ///< how such a part is made, and whether it goes where the old one was; empty: no matter
};
/// One way to do without a part that is not made any more, or with today's line, and its figures.
struct RemedyWay {
    std::string what;
    std::optional<double> ohms, watts, farads, volts, amps;  ///< watts: rated
    std::string says, danger;
    std::string beside;  ///< a part that it takes as well, in words; empty: none
};
struct Remedy {
    std::string part;  ///< empty: of the whole set
    std::string
        topic;  ///< "resistance cord", "ballast", "selenium", "field coil", "first filter", "heaters at the line"
    std::string says;
    bool wanted = true;           ///< the set needs it now; else it is there for when the part is found open
    std::vector<RemedyWay> ways;  ///< the best first
};
/// V(+) minus V(-) of an electrolytic, plus as the solution has it: to be traced by eye against the lugs (H23).
struct PolarityRow {
    std::string part, plus_to, minus_to;           ///< nets
    std::optional<double> idle, warm_up, no_load;  ///< volts: normal, warm-up, output cut off or speaker out
    bool told = true;                              ///< false: too little stands there without a signal to tell
};
struct ShoppingList {
    std::vector<ShopLine> lines;
    std::vector<PolarityRow> polarity;
    std::vector<Remedy> remedies;
    double spares_cost = 0;        ///< beyond `cost`
    std::string prices_dated;      ///< of the table that the prices are from
    std::vector<Notice> warnings;  ///< first-filter limits, reversed polarity, nothing stocked that fits
    std::optional<double> cost;    ///< sum of the lines at the table's prices
    std::optional<double> cost_low, cost_high;
    std::string currency;
};
/// `threats`: what the fuse is held against; without them the list says nothing of what it sees. `progress`: the fuse
/// and the sleeving that are in are not bought again (of parts the actions know). `solutions`: of the set in service,
/// for what the line gives and what string resistors carry; without them a set without a transformer gets no fuse.
TUBEWRIGHT_API ShoppingList shopping_list(const Chassis& chassis, const Catalogue& catalogue, const Policy& policy,
                                          std::span<const PartStress> stress, std::span<const PartAction> actions,
                                          std::span<const Threat> threats = {}, const Progress& progress = {},
                                          std::span<const Solution> solutions = {});

/// A family that a line-up and a label may be, and why.
struct FamilyGuess {
    Family family = Family::unknown;
    std::string likelihood;  ///< "likely", "possible", "seldom"
    std::vector<std::string> reasons;
};
/// Heaters of one current: volts in a string, amperes side by side.
struct HeaterSum {
    std::vector<std::string> tubes;
    double volts_in_series = 0, amps = 0;  ///< amps: of each, in series
    double amps_in_parallel = 0, volts_each = 0, watts = 0;
};
/// What a line-up and a label tell before anything is traced: level 0. Hot or isolated is not known from them.
struct LineUp {
    std::vector<const TubeType*> tubes;
    std::optional<double> volts, hertz, watts;
    std::string
        drawn;  ///< "45 W", or "45 VA" where the label gives volt-amperes or amperes: `watts` is then their most
    std::string current;  ///< "ac", "dc", "ac-dc"; empty when the label does not say
    std::optional<int> year;
    std::vector<FamilyGuess> families;      ///< the likeliest first
    std::vector<HeaterSum> in_series;       ///< by current, where a string is possible
    std::vector<HeaterSum> in_parallel;     ///< by volts
    std::vector<std::string> heater_words;  ///< what the sums say of the family
    struct UsualPart {
        std::string what, construction, action, reason, count;  ///< count: "1 or 2", "8 to 15" (common practice)
    };
    std::vector<UsualPart> usual_parts;
    std::vector<std::string> look_at;  ///< what to see and measure next, plug out
    std::vector<std::string> cautions;
};
/// label: "115V 60c 60W", "117 V AC/DC"; a word that is none of these is a notice. An unknown type is refused, the
/// nearest named.
TUBEWRIGHT_API Outcome<LineUp> line_up_of(const std::vector<std::string>& tubes, std::string_view label,
                                          std::optional<int> year, const Catalogue& catalogue);
/// Family, what can kill, what it will take.
struct Survey {
    Family family = Family::unknown;
    bool hot = false;
    int level = 0;
    std::vector<std::string> family_reasons;
    std::vector<PartAction> parts;
    double hours_low = 0, hours_high = 0, cost_low = 0, cost_high = 0;
    std::vector<std::string> cautions;
    std::optional<LineUp> line_up;  ///< below level 2, where sockets have tubes: what those and the label alone tell
};
TUBEWRIGHT_API Survey survey_of(const Chassis& chassis, const Catalogue& catalogue, const Policy& policy,
                                std::span<const PartAction> actions, const ShoppingList& list);
/// Cautions for the set at hand, in the order of danger; always with the deference to local codes and licensed
/// practice.
TUBEWRIGHT_API std::vector<std::string> cautions_for(const Chassis& chassis, const Catalogue& catalogue);

}  // namespace tubewright
