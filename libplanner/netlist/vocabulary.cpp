// SPDX-License-Identifier: MIT
#include "netlist/vocabulary.hpp"

#include <initializer_list>
#include <utility>

namespace tubewright {
namespace {

constexpr AttributeRule must(std::string_view name, Attr attr) {
    return {name, attr, true};
}
constexpr AttributeRule may(std::string_view name, Attr attr) {
    return {name, attr, false};
}

/// Below 64; parts most names of one element.
std::size_t hash_of(std::string_view name) {
    if (name.empty()) return 0;
    const auto byte = [](char c) { return static_cast<std::size_t>(static_cast<unsigned char>(c)); };
    return (byte(name.front()) * 5 + byte(name.back()) + name.size() * 9) % 64;
}

ElementRule plain(std::string_view name, Tag tag, Tag parent, std::vector<AttributeRule> own) {
    ElementRule rule{name, tag, parent, std::move(own), {}, {}, {}};
    rule.first_guess.fill(-1);
    for (std::size_t i = 0; i < rule.attributes.size(); ++i) {
        rule.attribute_names.push_back(rule.attributes[i].name);
        if (rule.attributes[i].required) rule.required.push_back(i);
        signed char& guess = rule.first_guess[hash_of(rule.attributes[i].name)];
        if (guess < 0) guess = static_cast<signed char>(i);
    }
    return rule;
}

/// A part: what every part may say of itself besides its own attributes.
ElementRule part(std::string_view name, Tag tag, std::initializer_list<AttributeRule> own) {
    std::vector<AttributeRule> all(own);
    for (const AttributeRule& a : {may("construction", Attr::construction), may("since", Attr::since),
                                   may("seen", Attr::seen), may("note", Attr::note), may("location", Attr::location),
                                   may("plug", Attr::plug), may("inside", Attr::inside), may("touch", Attr::touch)})
        all.push_back(a);
    return plain(name, tag, Tag::chassis, std::move(all));
}

std::vector<ElementRule> make() {
    using A = Attr;
    std::vector<ElementRule> rules;
    rules.push_back(plain(
        "chassis", Tag::chassis, Tag::chassis,
        {must("version", A::version), must("name", A::name), may("built", A::built), may("reference", A::reference),
         may("m-means", A::m_means), may("paper", A::paper), may("mica", A::mica), may("electrolytic", A::electrolytic),
         may("resistor", A::resistor), may("wire", A::wire), may("cord", A::cord), may("tolerance", A::tolerance),
         may("note", A::note), may("xmlns:xsi", A::xsi), may("xsi:noNamespaceSchemaLocation", A::xsi_schema)}));
    rules.push_back(
        plain("line", Tag::line, Tag::chassis,
              {may("volts", A::volts), may("hertz", A::hertz), may("hot", A::hot), may("neutral", A::neutral),
               may("supply", A::supply), may("watts", A::watts), may("note", A::note)}));
    rules.push_back(plain("node", Tag::node, Tag::chassis,
                          {must("is", A::is), must("net", A::net), may("touch", A::touch), may("note", A::note)}));
    rules.push_back(plain("join", Tag::join, Tag::chassis, {must("at", A::at), may("note", A::note)}));
    rules.push_back(part("transformer", Tag::transformer,
                         {must("id", A::id), must("role", A::role), may("va", A::va), may("khz", A::khz)}));
    rules.push_back(plain("winding", Tag::winding, Tag::transformer,
                          {must("role", A::role), must("leads", A::leads), may("name", A::name), may("volts", A::volts),
                           may("noload-volts", A::noload_volts), may("ohms", A::ohms), may("amps", A::amps),
                           may("impedance", A::impedance), may("henries", A::henries), may("coupling", A::coupling),
                           may("note", A::note)}));
    rules.push_back(part("socket", Tag::socket,
                         {must("id", A::id), may("tube", A::tube), may("found", A::found), may("fitted", A::fitted),
                          may("view", A::view)}));
    rules.push_back(part(
        "capacitor", Tag::capacitor,
        {must("id", A::id), may("value", A::value), may("volts", A::volts), may("a", A::a), may("b", A::b),
         may("plus", A::plus), may("minus", A::minus), may("tolerance", A::tolerance), may("found", A::found),
         may("fitted", A::fitted), may("colours", A::colours), may("code", A::code), may("insulated", A::insulated)}));
    rules.push_back(
        part("can", Tag::can,
             {must("id", A::id), may("value", A::value), may("minus", A::minus), may("insulated", A::insulated)}));
    rules.push_back(plain("section", Tag::section, Tag::can,
                          {must("mark", A::mark), may("value", A::value), may("volts", A::volts), may("plus", A::plus),
                           may("minus", A::minus), may("found", A::found), may("fitted", A::fitted),
                           may("since", A::since), may("seen", A::seen), may("note", A::note)}));
    rules.push_back(
        part("resistor", Tag::resistor,
             {must("id", A::id), may("value", A::value), may("watts", A::watts), may("a", A::a), may("b", A::b),
              may("tolerance", A::tolerance), may("found", A::found), may("fitted", A::fitted),
              may("colours", A::colours), may("code", A::code), may("sections", A::sections), may("leads", A::leads)}));
    rules.push_back(part("control", Tag::control,
                         {must("id", A::id), may("role", A::role), may("value", A::value), may("watts", A::watts),
                          may("a", A::a), may("b", A::b), may("wiper", A::wiper), may("tolerance", A::tolerance),
                          may("found", A::found), may("fitted", A::fitted)}));
    rules.push_back(part("coil", Tag::coil,
                         {must("id", A::id), must("role", A::role), may("henries", A::henries), may("swing", A::swing),
                          may("ohms", A::ohms), may("a", A::a), may("b", A::b), may("tap", A::tap),
                          may("amps", A::amps), may("khz", A::khz)}));
    rules.push_back(part("lamp", Tag::lamp,
                         {must("id", A::id), may("type", A::type), may("volts", A::volts), may("amps", A::amps),
                          may("a", A::a), may("b", A::b)}));
    rules.push_back(
        part("switch", Tag::power_switch,
             {must("id", A::id), may("role", A::role), may("a", A::a), may("b", A::b), may("state", A::state)}));
    rules.push_back(part("fuse", Tag::fuse, {must("id", A::id), may("amps", A::amps), may("a", A::a), may("b", A::b)}));
    rules.push_back(part("plug", Tag::plug, {must("id", A::id), must("role", A::role), may("state", A::state)}));
    rules.push_back(part("wire", Tag::wire, {may("id", A::id), must("from", A::from), must("to", A::to)}));
    rules.push_back(
        part("cord", Tag::cord,
             {may("id", A::id), may("from", A::from), may("to", A::to), may("ohms", A::ohms), may("watts", A::watts)}));
    rules.push_back(
        part("speaker", Tag::speaker, {may("id", A::id), may("ohms", A::ohms), may("a", A::a), may("b", A::b)}));
    rules.push_back(part("strip", Tag::strip, {must("id", A::id), must("lugs", A::lugs)}));
    rules.push_back(
        plain("reach", Tag::reach, Tag::chassis, {must("part", A::part), must("lift", A::lift), may("note", A::note)}));
    rules.push_back(
        plain("untraced", Tag::untraced, Tag::chassis,
              {may("id", A::id), must("net", A::net), may("to", A::to), must("amps", A::amps), may("note", A::note)}));
    rules.push_back(plain("position", Tag::position, Tag::power_switch,
                          {must("name", A::name), may("joins", A::joins), may("note", A::note)}));
    rules.push_back(part("battery", Tag::battery,
                         {must("id", A::id), must("role", A::role), may("volts", A::volts), may("ohms", A::ohms),
                          may("plus", A::plus), may("minus", A::minus), may("state", A::state)}));
    rules.push_back(part("vibrator", Tag::vibrator,
                         {must("id", A::id), may("role", A::role), may("hertz", A::hertz), may("duty", A::duty),
                          may("reed", A::reed), may("contacts", A::contacts)}));
    rules.push_back(part("rectifier", Tag::rectifier,
                         {must("id", A::id), may("volts", A::volts), may("amps", A::amps), may("anode", A::anode),
                          may("cathode", A::cathode)}));
    rules.push_back(part("ballast", Tag::ballast,
                         {must("id", A::id), may("type", A::type), may("value", A::value), may("sections", A::sections),
                          may("watts", A::watts), may("volts", A::volts), may("amps", A::amps), may("a", A::a),
                          may("b", A::b), may("leads", A::leads)}));
    rules.push_back(part("block", Tag::block, {must("id", A::id), may("terminals", A::terminals)}));
    return rules;
}

}  // namespace

const std::vector<ElementRule>& vocabulary() {
    static const std::vector<ElementRule> rules = make();
    return rules;
}

const AttributeRule* ElementRule::attribute(std::string_view written) const {
    const int guess = first_guess[hash_of(written)];
    if (guess < 0) return nullptr;
    for (std::size_t i = static_cast<std::size_t>(guess); i < attributes.size(); ++i)
        if (attributes[i].name == written) return &attributes[i];
    return nullptr;
}

const ElementRule* element_rule(std::string_view name) {
    static const std::array<const ElementRule*, 64> first_guess = [] {
        std::array<const ElementRule*, 64> guess{};
        for (const ElementRule& rule : vocabulary())
            if (const ElementRule*& slot = guess[hash_of(rule.name)]; !slot) slot = &rule;
        return guess;
    }();
    const ElementRule* const end = vocabulary().data() + vocabulary().size();
    for (const ElementRule* rule = first_guess[hash_of(name)]; rule && rule != end; ++rule)
        if (rule->name == name) return rule;
    return nullptr;
}

const std::vector<std::string_view>& element_names() {
    static const std::vector<std::string_view> names = [] {
        std::vector<std::string_view> all;
        for (const ElementRule& rule : vocabulary()) all.push_back(rule.name);
        return all;
    }();
    return names;
}

std::string_view element_meant_by(std::string_view word) {
    constexpr std::pair<std::string_view, std::string_view> words[] = {
        {"inductor", "<coil role=\"choke\"> or role=\"rf\""},
        {"choke", "<coil role=\"choke\">"},
        {"field", "<coil role=\"field\">"},
        {"tube", "<socket tube=\"...\">"},
        {"valve", "<socket tube=\"...\">"},
        {"potentiometer", "<control>"},
        {"pot", "<control>"},
        {"volume", "<control role=\"volume\">"},
        {"tone", "<control role=\"tone\">"},
        {"rheostat", "<control>"},
        {"trimmer", "<capacitor construction=\"mica-trimmer\">"},
        {"padder", "<capacitor construction=\"mica-trimmer\">"},
        {"gang", "one <capacitor construction=\"air-variable\"> for each section"},
        {"condenser", "<capacitor>"},
        {"cap", "<capacitor>"},
        {"res", "<resistor>"},
        {"xfmr", "<transformer role=\"...\">"},
        {"primary", "<winding role=\"primary\">, or role=\"output-primary\""},
        {"secondary", "<winding role=\"...\">: plate, heater, rectifier-heater, output-secondary"},
        {"tap", "a lead more in the winding's leads, between its ends"},
        {"pin", "nothing: a pin is a net, as in a=\"V3.2\""},
        {"electrolytic", "<capacitor plus=\"...\" minus=\"...\">, or <can> for several in one"},
        {"pack", "<block>, and inside=\"...\" on the parts in it"},
        {"bulb", "<lamp>"},
        {"pilot", "<lamp>"},
        {"selenium", "<rectifier construction=\"selenium\">"},
        {"silicon", "<rectifier construction=\"silicon\">"},
        {"diode", "<rectifier>, or <socket> for a tube"},
        {"terminal-strip", "<strip>"},
        {"ground", "<node is=\"chassis-metal\" net=\"...\">"},
        {"net", "nothing: a net is named by the parts that stand on it"},
    };
    for (const auto& [said, meant] : words)
        if (said == word) return meant;
    return {};
}

std::string_view attribute_meant_by(const ElementRule& element, std::string_view word) {
    constexpr std::pair<std::string_view, std::string_view> words[] = {
        {"type", "role"},        {"kind", "role"},
        {"type", "tube"},        {"tube", "type"},
        {"valve", "tube"},       {"value", "tube"},
        {"from", "a"},           {"to", "b"},
        {"a", "from"},           {"b", "to"},
        {"a", "plus"},           {"b", "minus"},
        {"anode", "plus"},       {"cathode", "minus"},
        {"+", "plus"},           {"-", "minus"},
        {"resistance", "value"}, {"capacitance", "value"},
        {"ohms", "value"},       {"farads", "value"},
        {"value", "ohms"},       {"rating", "volts"},
        {"rating", "watts"},     {"voltage", "volts"},
        {"wv", "volts"},         {"power", "watts"},
        {"current", "amps"},     {"inductance", "henries"},
        {"value", "henries"},    {"year", "built"},
        {"title", "name"},       {"description", "note"},
        {"comment", "note"},     {"place", "location"},
        {"remark", "note"},      {"slider", "wiper"},
        {"pins", "leads"},       {"ends", "leads"},
        {"frequency", "hertz"},  {"condition", "seen"},
    };
    for (const auto& [said, meant] : words) {
        if (said != word) continue;
        for (const std::string_view name : element.attribute_names)
            if (name == meant) return name;
    }
    return {};
}

std::string words_of(Tag element, Attr attribute) {
    const std::vector<std::string_view>* words = nullptr;
    if (attribute == Attr::role) {
        if (element == Tag::transformer) words = &transformer_roles();
        if (element == Tag::winding) words = &winding_roles();
        if (element == Tag::coil) words = &coil_roles();
        if (element == Tag::plug) words = &plug_roles();
        if (element == Tag::battery) words = &battery_roles();
        if (element == Tag::vibrator) words = &vibrator_roles();
    }
    if (attribute == Attr::is) words = &node_words();
    std::string text;
    if (words)
        for (const std::string_view word : *words) text += (text.empty() ? "" : ", ") + std::string(word);
    return text;
}

const std::vector<std::string_view>& transformer_roles() {
    static const std::vector<std::string_view> words = {"power",      "output",     "if",      "rf",
                                                        "oscillator", "interstage", "vibrator"};
    return words;
}

const std::vector<std::string_view>& winding_roles() {
    static const std::vector<std::string_view> words = {"primary",
                                                        "plate",
                                                        "rectifier-heater",
                                                        "heater",
                                                        "output-primary",
                                                        "output-secondary",
                                                        "interstage-primary",
                                                        "interstage-secondary",
                                                        "rf",
                                                        "other"};
    return words;
}

const std::vector<std::string_view>& coil_roles() {
    static const std::vector<std::string_view> words = {"choke", "field", "rf", "oscillator", "voice", "hum-bucking"};
    return words;
}

const std::vector<std::string_view>& plug_roles() {
    static const std::vector<std::string_view> words = {"line", "speaker", "other"};
    return words;
}

const std::vector<std::string_view>& node_words() {
    static const std::vector<std::string_view> words = {"chassis-metal", "b-minus", "earth", "line-hot",
                                                        "line-neutral"};
    return words;
}

const std::vector<std::string_view>& switch_roles() {
    static const std::vector<std::string_view> words = {"line", "band", "tone", "changeover", "phono", "other"};
    return words;
}

const std::vector<std::string_view>& battery_roles() {
    static const std::vector<std::string_view> words = {"a", "b", "c", "vehicle"};
    return words;
}

const std::vector<std::string_view>& vibrator_roles() {
    static const std::vector<std::string_view> words = {"nonsynchronous", "synchronous"};
    return words;
}

const std::vector<std::string_view>& supply_words() {
    static const std::vector<std::string_view> words = {"ac", "dc", "ac-dc"};
    return words;
}

const std::vector<std::string_view>& colour_codes() {
    static const std::vector<std::string_view> words = {"bands", "body-end-dot", "mica-3", "mica-6-rma", "mica-6-eia"};
    return words;
}

}  // namespace tubewright
