// SPDX-License-Identifier: MIT
// The elements and attributes of a chassis file, as one table: what the reader accepts, what it suggests, and what the
// test that holds netlists/chassis.xsd against the reader compares. A new part kind begins with a row here, a type in
// the schema and a case in reader.cpp.
#pragma once

#include <array>
#include <string>
#include <string_view>
#include <vector>

namespace tubewright {

enum class Tag {
    chassis,
    line,
    node,
    join,
    transformer,
    winding,
    socket,
    capacitor,
    can,
    section,
    resistor,
    control,
    coil,
    lamp,
    power_switch,
    fuse,
    plug,
    wire,
    cord,
    speaker,
    strip,
    reach,
    untraced,
    position,
    battery,
    vibrator,
    rectifier,
    ballast,
    block
};

/// Every attribute that some element has.
enum class Attr {
    version,
    name,
    built,
    reference,
    m_means,
    paper,
    mica,
    electrolytic,
    resistor,
    wire,
    cord,
    tolerance,
    xsi,
    xsi_schema,
    id,
    role,
    volts,
    hertz,
    hot,
    neutral,
    is,
    net,
    touch,
    at,
    va,
    khz,
    leads,
    noload_volts,
    ohms,
    amps,
    impedance,
    coupling,
    tube,
    value,
    a,
    b,
    plus,
    minus,
    mark,
    watts,
    wiper,
    henries,
    swing,
    tap,
    type,
    state,
    from,
    to,
    lugs,
    part,
    lift,
    construction,
    since,
    seen,
    note,
    location,
    plug,
    inside,
    supply,
    view,
    found,
    fitted,
    colours,
    code,
    sections,
    insulated,
    joins,
    anode,
    cathode,
    reed,
    contacts,
    duty,
    terminals,
    count
};

struct AttributeRule {
    std::string_view name;
    Attr attr;
    bool required;
};

struct ElementRule {
    std::string_view name;
    Tag tag;
    Tag parent;
    std::vector<AttributeRule> attributes;
    std::vector<std::string_view> attribute_names;  ///< the same, for suggestions
    std::vector<std::size_t> required;              ///< where they stand in `attributes`
    std::array<signed char, 64> first_guess{};      ///< by a hash of a name: where it stands in `attributes`, or -1

    /// nullptr for an unknown name.
    const AttributeRule* attribute(std::string_view written) const;
};

/// In the order of Tag.
const std::vector<ElementRule>& vocabulary();
/// nullptr for an unknown element.
const ElementRule* element_rule(std::string_view name);
const std::vector<std::string_view>& element_names();
/// What to write for a word of the trade that is no element: "inductor" is <coil role="choke">; empty when none.
std::string_view element_meant_by(std::string_view word);

/// The attribute that somebody means who writes `word` on this element; empty when none.
std::string_view attribute_meant_by(const ElementRule& element, std::string_view word);
/// The words that a required attribute takes, for the one who left it out: "power, output, if ..."; empty when any will
/// do.
std::string words_of(Tag element, Attr attribute);

// Words that an attribute may hold.
const std::vector<std::string_view>& transformer_roles();
const std::vector<std::string_view>& winding_roles();  ///< in the order of WindingRole
const std::vector<std::string_view>& coil_roles();
const std::vector<std::string_view>& plug_roles();
const std::vector<std::string_view>& node_words();
const std::vector<std::string_view>& switch_roles();
const std::vector<std::string_view>& battery_roles();
const std::vector<std::string_view>& vibrator_roles();
const std::vector<std::string_view>& supply_words();
const std::vector<std::string_view>& colour_codes();
/// What an eye, a finger or a nose finds.

}  // namespace tubewright
