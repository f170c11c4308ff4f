// SPDX-License-Identifier: MIT
// The chassis file to a Chassis: scan_xml() looks at the bytes and finds where the file may be cut between elements,
// pugixml builds the tree of one piece at a time in place, this file walks it in document order by the table of
// vocabulary.hpp and hands parts, leads and names to Assembly. Everything that is wrong is collected; nothing partial
// is returned. pugixml parses in place, so the pointer of a name is its offset in the piece: that is how attributes get
// line and column, which pugixml itself does not keep. Tests: tests/netlist, tests/bad, tests/speed.
#include <tubewright/netlist.hpp>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <limits>
#include <memory>
#include <pugixml.hpp>

#include "chassis/assembly.hpp"
#include "netlist/scan.hpp"
#include "netlist/vocabulary.hpp"
#include "terms/colour_code.hpp"
#include "terms/near.hpp"
#include "terms/numbers.hpp"
#include "terms/period_value.hpp"

namespace tubewright {
namespace {

constexpr int most_lugs = 100;
constexpr std::size_t most_windings = 40, most_winding_leads = 9, most_positions = 60, most_contacts = 400;
constexpr int most_suggestions = 50;

bool blank(char c) {
    return c == ' ' || c == '\t' || c == '\n' || c == '\r';
}

/// Words of a value and their offsets in it.
std::vector<std::pair<std::string_view, std::size_t>> words_of(std::string_view text) {
    std::vector<std::pair<std::string_view, std::size_t>> words;
    std::size_t i = 0;
    while (i < text.size()) {
        if (blank(text[i])) {
            ++i;
            continue;
        }
        const std::size_t start = i;
        while (i < text.size() && !blank(text[i])) ++i;
        words.emplace_back(text.substr(start, i - start), start);
    }
    return words;
}

/// "117 117", "330 V 335 V": figures where one stands. "1 1/2" is one.
bool several_figures(const std::vector<std::pair<std::string_view, std::size_t>>& words) {
    return std::count_if(words.begin(), words.end(), [](const auto& word) {
               return word.first.front() >= '0' && word.first.front() <= '9' &&
                      word.first.find('/') == std::string_view::npos;
           }) > 1;
}

class Reader {
  public:
    Reader(std::string_view text, const std::string& name, const Catalogue& catalogue)
        : text_(text), name_(name), catalogue_(catalogue), assembly_("") {
        assembly_.file = name;
    }

    /// Nothing when an element cannot be read: explain() then says why.
    std::optional<Outcome<Chassis>> read() {
        const Limits limits;
        if (text_.size() > limits.bytes)
            return lone(messages::file_too_big, {}, "the file is larger than 64 MiB", "is it a chassis file?");
        if (text_.starts_with("\xEF\xBB\xBF")) text_.remove_prefix(3);
        if (const std::string_view wide = wide_text(text_); !wide.empty())
            return lone(messages::not_utf8, {1, 1}, joined({"the file is ", wide}), "save it as UTF-8");
        const Scan scan = scan_xml(text_, limits);
        ascii_ = scan.ascii;
        if (!scan.faults.empty()) {
            PlaceCursor places(text_, ascii_);
            for (const TextFault& fault : scan.faults)
                error(fault.number, places.at(fault.offset), fault.message, fault.remedy);
        }
        if (scan.readable && !walk(scan)) return std::nullopt;
        return assembly_.finish(catalogue_);
    }

    /// The errors of a file whose elements cannot be read.
    Outcome<Chassis> explain() {
        if (text_.starts_with("\xEF\xBB\xBF")) text_.remove_prefix(3);
        const Scan scan = scan_xml(text_, Limits());
        ascii_ = scan.ascii;
        PlaceCursor places(text_, ascii_);
        for (const TextFault& fault : scan.faults)
            error(fault.number, places.at(fault.offset), fault.message, fault.remedy);
        refused();
        return assembly_.finish(catalogue_);
    }

  private:
    /// The elements in their order, a piece of the file at a time: so the tree of a large file is never whole. False
    /// when the parser refuses a piece.
    bool walk(const Scan& scan) {
        PlaceCursor places(text_, ascii_);
        places_ = &places;
        assembly_.reserve(scan.elements);
        pugi::xml_document document;
        std::string root_tag(text_.substr(scan.root_begin, scan.root_end - scan.root_begin));
        if (!scan.root_closed) {
            const std::size_t name_end = root_tag.find_first_of(" \t\r\n>", 1);
            root_tag += "</" + root_tag.substr(1, name_end - 1) + ">";
        }
        if (!parse(document, root_tag, scan.root_begin)) return false;
        if (!root(document.first_child())) return true;
        std::string piece;
        for (std::size_t i = 0; i + 1 < scan.bounds.size(); ++i) {
            piece.assign(text_.substr(scan.bounds[i], scan.bounds[i + 1] - scan.bounds[i]));
            if (piece.empty()) continue;
            if (!parse(document, piece, scan.bounds[i])) return false;
            for (pugi::xml_node child = document.first_child(); child; child = child.next_sibling()) {
                if (child.type() != pugi::node_element) continue;
                if (const ElementRule* known = rule_for(child, Tag::chassis)) element(child, *known);
            }
        }
        no_line();
        return true;
    }

    /// A tree of what begins at byte `base` of the file; false, and why, when it is none.
    pugi::xml_parse_result parse(pugi::xml_document& document, std::string& piece, std::size_t base) {
        buffer_ = piece.data();
        base_ = base;
        return document.load_buffer_inplace(piece.data(), piece.size(),
                                            pugi::parse_escapes | pugi::parse_wconv_attribute | pugi::parse_fragment,
                                            pugi::encoding_utf8);
    }

    /// What the parser refuses, and where.
    void refused() {
        std::string whole(text_);
        pugi::xml_document document;
        const pugi::xml_parse_result result = parse(document, whole, 0);
        PlaceCursor places(text_, ascii_);
        const bool attribute = result.status == pugi::status_bad_attribute;
        error(messages::not_well_formed,
              places.at(static_cast<std::size_t>(std::max<std::ptrdiff_t>(0, result.offset))),
              attribute ? "an attribute is not written as name=\"value\"" : std::string("XML: ") + result.description(),
              attribute ? "name, =, and a value in quotes, with a blank before the next one" : "mend the XML first");
    }

    struct Given {
        std::string_view value;
        std::size_t name_offset = 0, value_offset = 0;
        Spot spot;
        int element = 0;  ///< counted; the attribute stands only if it is the element being read
    };

    // ---- places and messages

    std::size_t offset_of(const char* in_buffer) const { return base_ + static_cast<std::size_t>(in_buffer - buffer_); }

    /// Place of the character at byte `inside` of a value.
    Spot inside(const Given& given, std::size_t inside) const {
        Spot spot = given.spot;
        const std::size_t end = std::min(given.value_offset + inside, text_.size());
        for (std::size_t i = given.name_offset; i < end; ++i) {
            if (text_[i] == '\n') {
                ++spot.line;
                spot.column = 1;
            } else if ((static_cast<unsigned char>(text_[i]) & 0xC0U) != 0x80U) {
                ++spot.column;
            }
        }
        return spot;
    }

    void error(int number, Spot spot, std::string message, std::string remedy) {
        assembly_.notice(number, Severity::error, spot, std::move(message), std::move(remedy));
    }

    Outcome<Chassis> lone(int number, Spot spot, std::string message, std::string remedy) {
        error(number, spot, std::move(message), std::move(remedy));
        return assembly_.finish(catalogue_);
    }

    std::string suggest(std::string_view word, const std::vector<std::string_view>& known) {
        return ++suggestions_ > most_suggestions ? std::string() : suggestion(word, known);
    }

    // ---- attributes

    const Given& given(Attr attr) const { return given_[static_cast<std::size_t>(attr)]; }
    bool has(Attr attr) const { return given(attr).element == count_; }
    std::string_view text(Attr attr) const { return has(attr) ? given(attr).value : std::string_view(); }
    Spot spot(Attr attr) const { return has(attr) ? given(attr).spot : element_; }

    /// Sorts the attributes of an element into given_; reports unknown, doubled and missing ones.
    void collect(const pugi::xml_node& node, const ElementRule& rule) {
        ++count_;
        element_ = places_->at(offset_of(node.name()) - 1);
        for (pugi::xml_attribute a = node.first_attribute(); a; a = a.next_attribute()) {
            const std::string_view name = a.name();
            const std::size_t offset = offset_of(a.name());
            const Spot here = places_->at(offset);
            const AttributeRule* found = rule.attribute(name);
            if (!found) {
                const std::string_view meant = attribute_meant_by(rule, name);
                error(messages::unknown_attribute, here,
                      "<" + std::string(rule.name) + "> has no attribute " + quoted(name),
                      meant.empty() ? suggest(name, rule.attribute_names) : joined({"write ", meant, "=\"...\""}));
                continue;
            }
            if (has(found->attr)) {
                error(messages::duplicate_attribute, here, "the attribute " + quoted(name) + " stands twice",
                      "leave one out");
                continue;
            }
            // blanks around a value are nothing
            std::string_view value = a.value();
            std::size_t value_at = offset_of(a.value());
            if (found->attr != Attr::note) {
                while (!value.empty() && blank(value.front())) value.remove_prefix(1), ++value_at;
                while (!value.empty() && blank(value.back())) value.remove_suffix(1);
            }
            given_[static_cast<std::size_t>(found->attr)] = {value, offset, value_at, here, count_};
            if (given(found->attr).value.empty() && names_something(found->attr))
                error(messages::bad_name, here, joined({"the attribute ", quoted(name), " is empty"}),
                      found->required ? "write a name, or leave the element out"
                                      : "write a name, or leave the attribute out");
        }
        for (const std::size_t i : rule.required) {
            const AttributeRule& r = rule.attributes[i];
            if (!has(r.attr))
                error(messages::missing_attribute, element_,
                      "<" + std::string(rule.name) + "> has no " + std::string(r.name),
                      words_of(rule.tag, r.attr).empty() ? joined({"write ", r.name, "=\"...\""})
                                                         : joined({"one of ", words_of(rule.tag, r.attr)}));
        }
    }

    /// Attributes that are silently nothing when they are empty; nets and ids are refused where they are used.
    static bool names_something(Attr attr) {
        return attr == Attr::hot || attr == Attr::neutral || attr == Attr::mark || attr == Attr::name ||
               attr == Attr::construction || attr == Attr::inside;
    }

    /// An unknown value: left out or "?".
    bool unknown(Attr attr) const { return !has(attr) || given(attr).value == "?"; }

    void value_error(const Given& at, std::size_t inside_offset, std::string_view piece, const Notice& notice) {
        // The column inside the piece, in characters, as an offset into it.
        std::size_t byte = 0;
        for (int column = 1; byte < piece.size() && column < notice.place.column; ++column) do
                ++byte;
            while (byte < piece.size() && (static_cast<unsigned char>(piece[byte]) & 0xC0U) == 0x80U);
        error(notice.number, inside(at, inside_offset + byte), notice.message, notice.remedy);
    }

    std::optional<double> value(Attr attr, Measure measure) {
        if (unknown(attr)) return std::nullopt;
        const Outcome<double> read = read_value(given(attr).value, measure, m_means_);
        if (read) return *read;
        value_error(given(attr), 0, given(attr).value, read.notices().front());
        return std::nullopt;
    }

    /// A list such as "185 210".
    std::vector<double> values(Attr attr, Measure measure) {
        std::vector<double> list;
        if (unknown(attr)) return list;
        const auto pieces = words_of(given(attr).value);
        if (pieces.empty()) (void)value(attr, measure);
        for (const auto& [piece, at] : pieces) {
            if (piece == "?") {  // one of several is not known
                list.push_back(std::numeric_limits<double>::quiet_NaN());
                continue;
            }
            const Outcome<double> read = read_value(piece, measure, m_means_);
            if (read)
                list.push_back(*read);
            else
                value_error(given(attr), at, piece, read.notices().front());
        }
        return list;
    }

    std::optional<int> whole(Attr attr, int least, int most, const char* what) {
        if (unknown(attr)) return std::nullopt;
        const Outcome<int> read = read_whole(given(attr).value, most);
        if (!read) {
            value_error(given(attr), 0, given(attr).value, read.notices().front());
            return std::nullopt;
        }
        if (*read < least) {
            error(messages::value_out_of_range, inside(given(attr), 0), quoted(given(attr).value) + " is no " + what,
                  std::to_string(least) + " to " + std::to_string(most));
            return std::nullopt;
        }
        return *read;
    }

    std::optional<int> year(Attr attr) {
        const std::string_view said = text(attr);
        if (said.size() > 4 && said.front() == '0') {
            error(messages::value_out_of_range, inside(given(attr), 0), quoted(said) + " is no year", "1900 to 2100");
            return std::nullopt;
        }
        return whole(attr, 1900, 2100, "year");
    }

    /// Index of the word in the list, -1 with an error otherwise.
    int word_in(Attr attr, const std::vector<std::string_view>& words) {
        if (!has(attr)) return -1;
        const std::string_view said = given(attr).value;
        for (std::size_t i = 0; i < words.size(); ++i)
            if (words[i] == said) return static_cast<int>(i);
        std::string list = suggest(said, words);
        error(messages::unknown_word, inside(given(attr), 0), quoted(said) + " is no word for this attribute",
              std::move(list));
        return -1;
    }

    bool yes(Attr attr) {
        static const std::vector<std::string_view> words = {"no", "yes"};
        return word_in(attr, words) == 1;
    }

    std::vector<std::pair<std::string, Spot>> names(Attr attr) {
        std::vector<std::pair<std::string, Spot>> list;
        if (!has(attr)) return list;
        Given from = given(attr);  // places are counted on from the word before, not from the attribute each time
        for (const auto& [word, at] : words_of(given(attr).value)) {
            from.spot = inside(from, given(attr).value_offset + at - from.value_offset);
            from.name_offset = from.value_offset = given(attr).value_offset + at;
            list.emplace_back(word, from.spot);
        }
        if (list.empty())
            error(messages::bad_name, given(attr).spot, "the list is empty", "write names with blanks between them");
        return list;
    }

    // ---- the root

    /// Says whether what stands inside is to be read.
    bool root(pugi::xml_node node) {
        const ElementRule& rule = vocabulary().front();
        if (node.name() != rule.name) {
            error(messages::wrong_root, places_->at(offset_of(node.name()) - 1),
                  "the file begins with <" + std::string(std::string_view(node.name()).substr(0, 40)) + ">",
                  "a chassis file begins with <chassis version=\"1\" name=\"...\">");
            return false;
        }
        collect(node, rule);
        if (has(Attr::version) && text(Attr::version) != "1")
            error(messages::wrong_version, inside(given(Attr::version), 0),
                  "version " + quoted(text(Attr::version)) + " is not known", "this reader knows version \"1\"");
        assembly_.title(text(Attr::name));
        assembly_.built = year(Attr::built);
        if (has(Attr::m_means)) {
            static const std::vector<std::string_view> meanings = {"thousand", "million"};
            const int meaning = word_in(Attr::m_means, meanings);
            m_means_ = meaning == 0 ? MMeans::thousand : meaning == 1 ? MMeans::million : MMeans::unstated;
            if (meaning >= 0) assembly_.m_means = text(Attr::m_means);
            if (meaning < 0) m_means_ = MMeans::million;  // reported once; no second error at every M
        }
        for (const auto& [attr, slot] : {std::pair{Attr::paper, &assembly_.paper},
                                         {Attr::mica, &assembly_.mica},
                                         {Attr::electrolytic, &assembly_.electrolytic},
                                         {Attr::resistor, &assembly_.resistor},
                                         {Attr::wire, &assembly_.wire},
                                         {Attr::cord, &assembly_.cord}})
            if (has(attr)) *slot = {std::string(given(attr).value), inside(given(attr), 0)};
        assembly_.tolerance = tolerance();
        if (has(Attr::reference)) assembly_.reference(given(Attr::reference).value, given(Attr::reference).spot);
        return true;
    }

    void no_line() {
        if (!line_seen_ && !vehicle_battery_)
            assembly_.notice(messages::note_line_assumed, Severity::note, {}, "no <line>: taken as 117 V 60 cycles",
                             "<line volts=\"...\" hertz=\"...\" hot=\"P1.1\" neutral=\"P1.2\"/>");
    }

    std::optional<double> tolerance() {
        if (const std::optional<double> per_cent = value(Attr::tolerance, Measure::per_cent)) return *per_cent / 100;
        return std::nullopt;
    }

    /// The rule of a child, when it may stand inside `parent`.
    const ElementRule* rule_for(const pugi::xml_node& node, Tag parent) {
        const std::string_view name = node.name();
        const ElementRule* rule = element_rule(name);
        if (!rule) {
            const std::string_view meant = element_meant_by(name);
            error(messages::unknown_element, places_->at(offset_of(node.name()) - 1),
                  "there is no element <" + std::string(name.substr(0, 40)) + ">",
                  meant.empty() ? suggest(name, element_names()) : "write " + std::string(meant));
            return nullptr;
        }
        if (rule->parent != parent || rule->tag == Tag::chassis) {
            const std::string home(vocabulary()[static_cast<std::size_t>(rule->parent)].name);
            error(messages::element_misplaced, places_->at(offset_of(node.name()) - 1),
                  "<" + std::string(name) + "> stands inside <" +
                      std::string(vocabulary()[static_cast<std::size_t>(parent)].name) + ">",
                  rule->tag == Tag::chassis ? "a file holds one <chassis>"
                                            : "its place is directly inside <" + home + ">");
            return nullptr;
        }
        return rule;
    }

    /// Whatever stands inside an element that holds nothing.
    void no_children(const pugi::xml_node& node, Tag tag) {
        for (pugi::xml_node child = node.first_child(); child; child = child.next_sibling())
            if (child.type() == pugi::node_element) (void)rule_for(child, tag);
    }

    // ---- parts

    Part& part(PartKind kind) {
        if (has(Attr::id) && text(Attr::id).empty())
            error(messages::bad_name, spot(Attr::id), "the id is empty",
                  "letters and figures without blanks and dots: \"C14\"");
        const std::string_view id = has(Attr::id) && !text(Attr::id).empty() ? text(Attr::id) : std::string_view();
        Part& made = assembly_.add(kind, id, element_, spot(Attr::id));
        const Attr tube = has(Attr::fitted) ? Attr::fitted : has(Attr::found) ? Attr::found : Attr::tube;
        assembly_.spots(has(tube) ? inside(given(tube), 0) : element_,
                        has(Attr::construction) ? inside(given(Attr::construction), 0) : element_);
        common(made);
        return made;
    }

    /// What every part may say of itself.
    void common(Part& made) {
        if (!unknown(Attr::construction)) made.construction = text(Attr::construction);
        if (has(Attr::since)) made.since = year(Attr::since);
        if (has(Attr::seen)) seen(made);
        if (has(Attr::note)) made.note = text(Attr::note);
        if (has(Attr::location)) made.location = text(Attr::location);
        if (has(Attr::plug)) made.plug = text(Attr::plug);
        if (has(Attr::inside)) made.inside = text(Attr::inside);
        if (has(Attr::touch)) made.touch = yes(Attr::touch);
    }

    /// The words of the file for what should be there, what was found and what was put in.
    void three_words(Part& made, Attr documented) {
        if (!has(Attr::found) && !has(Attr::fitted)) return;
        if (!unknown(documented)) made.documented = text(documented);
        if (!unknown(Attr::found)) made.found = text(Attr::found);
        if (!unknown(Attr::fitted)) made.fitted = text(Attr::fitted);
    }

    /// Documented, found and fitted ohms: the set stands with what was fitted, else with what it should have, else with
    /// what was found.
    void three_ohms(Part& made) {
        made.ohms = value(Attr::value, Measure::ohms);
        three_words(made, Attr::value);
        made.found_value = value(Attr::found, Measure::ohms);
        if (const std::optional<double> fitted = value(Attr::fitted, Measure::ohms)) made.ohms = fitted;
        judge_found(made);
    }

    /// A value given by its colours, where the file gives no figures.
    void colours(Part& made, OptionalNumber& slot) {
        if (!has(Attr::colours)) {
            if (has(Attr::code))
                error(messages::missing_attribute, spot(Attr::code), "a code without colours", "write colours=\"...\"");
            return;
        }
        const int word = has(Attr::code) ? word_in(Attr::code, colour_codes()) : -1;
        const bool capacitor = made.kind == PartKind::capacitor;
        if (has(Attr::code) && word < 0) return;
        const ColourCode code = word >= 0 ? static_cast<ColourCode>(word) : ColourCode::bands;
        if (capacitor == (code == ColourCode::bands || code == ColourCode::body_end_dot)) {
            error(
                messages::value_colour, spot(has(Attr::code) ? Attr::code : Attr::colours),
                capacitor ? "the colours of a capacitor want a code of capacitors" : "that is a code of capacitors",
                capacitor ? "code=\"mica-3\", \"mica-6-rma\" or \"mica-6-eia\"" : "code=\"bands\" or \"body-end-dot\"");
            return;
        }
        const Outcome<ColouredValue> read = read_colours(given(Attr::colours).value, code);
        if (!read) return value_error(given(Attr::colours), 0, given(Attr::colours).value, read.notices().front());
        if (slot && std::fabs(*slot / read->value - 1) > 1e-6) {
            error(messages::value_two_readings, inside(given(Attr::colours), 0),
                  quoted(text(Attr::colours)) + " is " +
                      printed(read->value, capacitor ? Measure::farads : Measure::ohms) + ", and the value says " +
                      printed(*slot, capacitor ? Measure::farads : Measure::ohms),
                  "write one of the two; what was found beside what is documented is found=\"...\"");
            return;
        }
        slot = read->value;
        if (!has(Attr::tolerance)) made.tolerance = read->tolerance;
        if (!made.rated_volts) made.rated_volts = read->volts;
    }

    /// Words of a closed list, in small letters or capitals; what is not on it would be dropped without a sound.
    void seen(Part& made) {
        for (const auto& [said, at] : words_of(given(Attr::seen).value)) {
            std::string word(said);
            for (char& c : word) c = c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
            const auto& known = seen_words();
            if (std::find(known.begin(), known.end(), word) != known.end()) {
                made.seen = made.seen.empty() ? word : joined({made.seen, " ", word});
                continue;
            }
            error(messages::unknown_word, inside(given(Attr::seen), at), quoted(said) + " is no word for what was seen",
                  word.find_first_of(",;") != std::string::npos ? "words with blanks between them: \"waxy cracked\""
                  : word == "not" || word == "no" ? "write what was seen, not what was not; the rest is a note=\"...\""
                                                  : suggest(word, known));
        }
    }

    /// A lead that the file may place: on a net when it does, else open until somebody names it.
    void lead(Part& made, std::string_view name, Attr attr, bool required = true) {
        if (has(attr))
            assembly_.lead(made, name, given(attr).value, given(attr).spot);
        else if (!made.id.empty() || !required)
            assembly_.unplaced_lead(made, name, required);
    }

    void two_leads(Part& made) {
        lead(made, "a", Attr::a);
        lead(made, "b", Attr::b);
    }

    void element(const pugi::xml_node& node, const ElementRule& rule) {
        collect(node, rule);
        switch (rule.tag) {
            case Tag::line:
                line();
                break;
            case Tag::node:
                if (word_in(Attr::is, node_words()) >= 0 && has(Attr::net))
                    assembly_.node(text(Attr::is), text(Attr::net), yes(Attr::touch), spot(Attr::net));
                break;
            case Tag::join: {
                const auto list = names(Attr::at);
                if (list.size() == 1)
                    error(messages::bad_count, spot(Attr::at), "a join of one name joins nothing",
                          "write two names or more");
                assembly_.join(list);
                break;
            }
            case Tag::transformer:
                return transformer(node);
            case Tag::can:
                return can(node);
            case Tag::socket: {
                socket();
                break;
            }
            case Tag::capacitor:
                capacitor();
                break;
            case Tag::resistor:
            case Tag::ballast:
                if (has(Attr::sections) || has(Attr::leads))
                    sectioned(rule.tag == Tag::ballast);
                else
                    resistor(rule.tag == Tag::ballast);
                break;
            case Tag::control: {
                Part& made = part(PartKind::control);
                made.role = text(Attr::role);
                three_ohms(made);
                made.rated_watts = value(Attr::watts, Measure::watts);
                made.tolerance = tolerance();
                two_leads(made);
                lead(made, "wiper", Attr::wiper);
                break;
            }
            case Tag::coil: {
                Part& made = part(PartKind::coil);
                if (word_in(Attr::role, coil_roles()) >= 0) made.role = text(Attr::role);
                made.henries = value(Attr::henries, Measure::henries);
                made.swing_henries = value(Attr::swing, Measure::henries);
                if (several_figures(words_of(text(Attr::ohms))))
                    error(messages::bad_count, spot(Attr::ohms),
                          "ohms of a coil: " + quoted(text(Attr::ohms)) + " is more than one value",
                          "the ohms of the whole; a coil whose tap matters is written as two coils in series");
                else
                    made.ohms = value(Attr::ohms, Measure::ohms);
                made.rated_amps = value(Attr::amps, Measure::amps);
                made.kilohertz = value(Attr::khz, Measure::kilohertz);
                two_leads(made);
                if (has(Attr::tap)) lead(made, "tap", Attr::tap);
                break;
            }
            case Tag::lamp:
                lamp();
                break;
            case Tag::power_switch:
                return power_switch(node);
            case Tag::fuse: {
                Part& made = part(PartKind::fuse);
                made.rated_amps = value(Attr::amps, Measure::amps);
                two_leads(made);
                break;
            }
            case Tag::plug: {
                Part& made = part(PartKind::plug);
                if (word_in(Attr::role, plug_roles()) >= 0) made.role = text(Attr::role);
                made.closed = in_or_out();
                break;
            }
            case Tag::battery: {
                Part& made = part(PartKind::battery);
                if (word_in(Attr::role, battery_roles()) >= 0) made.role = text(Attr::role);
                vehicle_battery_ = vehicle_battery_ || made.role == "vehicle";
                made.rated_volts = value(Attr::volts, Measure::volts);
                made.ohms = value(Attr::ohms, Measure::ohms);
                made.polarised = true;
                made.closed = in_or_out();
                lead(made, "plus", Attr::plus);
                lead(made, "minus", Attr::minus);
                break;
            }
            case Tag::vibrator:
                vibrator();
                break;
            case Tag::rectifier: {
                Part& made = part(PartKind::rectifier);
                made.rated_volts = value(Attr::volts, Measure::volts);
                made.rated_amps = value(Attr::amps, Measure::amps);
                made.polarised = true;
                lead(made, "anode", Attr::anode);
                lead(made, "cathode", Attr::cathode);
                break;
            }
            case Tag::block: {
                Part& made = part(PartKind::block);
                if (has(Attr::terminals))
                    for (const auto& [name, at] : names(Attr::terminals))
                        if (made.lead(name) < 0) assembly_.unplaced_lead(made, name, false);
                break;
            }
            case Tag::wire:
            case Tag::cord: {
                Part& made = part(rule.tag == Tag::wire ? PartKind::wire : PartKind::cord);
                if (has(Attr::from) != has(Attr::to) && rule.tag == Tag::cord)
                    error(messages::missing_attribute, element_, "a cord with one end",
                          "write both from and to, or neither");
                if (has(Attr::from)) lead(made, "from", Attr::from);
                if (has(Attr::to)) lead(made, "to", Attr::to);
                if (rule.tag == Tag::cord) {
                    made.ohms = value(Attr::ohms, Measure::ohms);
                    made.rated_watts = value(Attr::watts, Measure::watts);
                }
                break;
            }
            case Tag::speaker: {
                Part& made = part(PartKind::speaker);
                made.ohms = value(Attr::ohms, Measure::ohms);
                if (has(Attr::a) || has(Attr::b)) two_leads(made);
                break;
            }
            case Tag::strip: {
                Part& made = part(PartKind::strip);
                if (const std::optional<int> lugs = whole(Attr::lugs, 1, most_lugs, "number of lugs"))
                    for (int lug = 1; lug <= *lugs; ++lug) assembly_.unplaced_lead(made, std::to_string(lug), false);
                break;
            }
            case Tag::reach: {
                const auto lift = names(Attr::lift);
                if (has(Attr::part)) assembly_.reach(text(Attr::part), spot(Attr::part), lift);
                break;
            }
            case Tag::untraced: {
                Part& made = part(PartKind::untraced);
                made.drawn_amps = value(Attr::amps, Measure::amps);
                lead(made, "a", Attr::net);
                lead(made, "b", Attr::to, false);
                break;
            }
            case Tag::chassis:
            case Tag::winding:
            case Tag::section:
            case Tag::position:
                break;
        }
        no_children(node, rule.tag);
    }

    bool in_or_out() {
        static const std::vector<std::string_view> states = {"out", "in"};
        return !has(Attr::state) || word_in(Attr::state, states) != 0;
    }

    void socket() {
        Part& made = part(PartKind::socket);
        three_words(made, Attr::tube);
        static const std::vector<std::string_view> views = {"bottom", "top"};
        made.top_view = has(Attr::view) && word_in(Attr::view, views) == 1;
        // what stands there now, as far as the file goes; an empty socket keeps the pins of the tube that belongs there
        for (const Attr now : {Attr::fitted, Attr::found, Attr::tube}) {
            if (unknown(now) || text(now) == "none") continue;
            made.tube = text(now);
            break;
        }
    }

    void resistor(bool ballast) {
        Part& made = part(PartKind::resistor);
        if (ballast) {
            made.ohms = value(Attr::value, Measure::ohms);
            as_ballast(made);
        } else {
            three_ohms(made);
            made.tolerance = tolerance();
            colours(made, made.ohms);
        }
        made.rated_watts = value(Attr::watts, Measure::watts);
        two_leads(made);
    }

    void as_ballast(Part& made) {
        if (made.construction.empty()) made.construction = "ballast";
        made.role = "ballast";
        if (!unknown(Attr::type)) made.tube = text(Attr::type);
        made.rated_volts = value(Attr::volts, Measure::volts);
        made.rated_amps = value(Attr::amps, Measure::amps);
    }

    /// A tapped or many-sectioned resistor: a part from each lead to the next, "R20.1-2", "R20.2-3"; its lugs are
    /// R20.1, R20.2 ... The watts of the whole go to the sections by their ohms, as one wire of one size is wound.
    void sectioned(bool ballast) {
        const std::string id(text(Attr::id));
        const auto leads = names(Attr::leads);
        const std::vector<double> ohms = values(Attr::sections, Measure::ohms);
        const bool stated = has(Attr::sections) && text(Attr::sections) != "?";
        if (!has(Attr::leads) || leads.size() < 2 || (stated && !ohms.empty() && ohms.size() + 1 != leads.size())) {
            error(messages::bad_count, has(Attr::leads) ? spot(Attr::leads) : element_,
                  std::to_string(leads.size()) + " leads for " + std::to_string(ohms.size()) + " sections",
                  "one lead more than sections: sections=\"8k 7k 5k\" leads=\"bplus screens bias gnd\"");
            return;
        }
        if (has(Attr::value) || has(Attr::a) || has(Attr::b))
            error(messages::exclusive_attributes, element_, "sections and leads beside value, a or b",
                  "sections and leads for a tapped one, value, a and b for a plain one");
        if (id.empty()) {
            (void)part(PartKind::resistor);  // says what is wrong with the id
            return;
        }
        assembly_.lugs(id, spot(Attr::id), static_cast<int>(leads.size()));
        const Spot construction = has(Attr::construction) ? inside(given(Attr::construction), 0) : element_;
        const std::optional<double> watts = value(Attr::watts, Measure::watts);
        double whole = 0;  // not a number where one of them is not known
        for (const double one : ohms) whole += one;
        Part shared;
        common(shared);
        if (ballast) as_ballast(shared);
        shared.tolerance = ballast ? std::nullopt : tolerance();
        for (std::size_t i = 0; i + 1 < leads.size(); ++i) {
            const std::string first = std::to_string(i + 1), second = std::to_string(i + 2);
            Part& made = assembly_.add(PartKind::resistor, id + "." + first + "-" + second, element_, spot(Attr::id));
            assembly_.spots(element_, construction);
            take_over(made, shared);
            made.can = id;
            made.mark = first + "-" + second;
            if (i < ohms.size() && !std::isnan(ohms[i])) {
                made.ohms = ohms[i];
                if (watts && whole > 0) made.rated_watts = *watts * ohms[i] / whole;
            }
            assembly_.lead(made, first, leads[i].first, leads[i].second);
            assembly_.lead(made, second, leads[i + 1].first, leads[i + 1].second);
            assembly_.join({{id + "." + first, leads[i].second}, leads[i]});
        }
        assembly_.join({{id + "." + std::to_string(leads.size()), leads.back().second}, leads.back()});
    }

    /// What a section has from the part that it is a section of.
    static void take_over(Part& made, const Part& whole) {
        made.construction = whole.construction;
        made.since = whole.since;
        made.seen = whole.seen;
        made.note = whole.note;
        made.location = whole.location;
        made.plug = whole.plug;
        made.inside = whole.inside;
        made.touch = whole.touch;
        made.role = whole.role;
        made.tube = whole.tube;
        made.tolerance = whole.tolerance;
        made.rated_volts = whole.rated_volts;
        made.rated_amps = whole.rated_amps;
        made.insulated = whole.insulated;
    }

    /// One pair of contacts, or a table of positions: every pair that some position joins is a part of its own, closed
    /// in the position that the switch stands in.
    void power_switch(const pugi::xml_node& node) {
        bool table = false;
        for (pugi::xml_node child = node.first_child(); child; child = child.next_sibling())
            table = table || (child.type() == pugi::node_element && std::string_view(child.name()) == "position");
        if (!table) {
            static const std::vector<std::string_view> states = {"open", "closed"};
            Part& made = part(PartKind::power_switch);
            if (has(Attr::role) && word_in(Attr::role, switch_roles()) >= 0) made.role = text(Attr::role);
            made.closed = !has(Attr::state) || word_in(Attr::state, states) == 1;
            two_leads(made);
            no_children(node, Tag::power_switch);
            return;
        }
        const std::string id(text(Attr::id));
        if (has(Attr::a) || has(Attr::b))
            error(messages::exclusive_attributes, element_, "a switch with positions and a or b",
                  "a and b for one pair of contacts, positions for the rest");
        if (!id.empty()) assembly_.lugs(id, spot(Attr::id), 0);
        Part shared;
        common(shared);
        shared.role = "other";
        if (has(Attr::role) && word_in(Attr::role, switch_roles()) >= 0) shared.role = text(Attr::role);
        const bool stated = !unknown(Attr::state);
        const std::string state(text(Attr::state));
        const Spot state_spot = stated ? inside(given(Attr::state), 0) : element_;
        const Spot here = element_, id_spot = spot(Attr::id);
        const Spot construction = has(Attr::construction) ? inside(given(Attr::construction), 0) : element_;
        struct Contact {
            std::string first, second;
            bool closed = false;
            Spot spot;
        };
        std::vector<Contact> contacts;
        std::vector<std::string> positions;
        for (pugi::xml_node child = node.first_child(); child; child = child.next_sibling()) {
            if (child.type() != pugi::node_element) continue;
            const ElementRule* rule = rule_for(child, Tag::power_switch);
            if (!rule) continue;
            collect(child, *rule);
            const std::string name(text(Attr::name));
            if (std::find(positions.begin(), positions.end(), name) != positions.end())
                error(messages::duplicate_id, spot(Attr::name), "two positions are called " + quoted(name),
                      "give each its own name");
            positions.push_back(name);
            if (positions.size() > most_positions || contacts.size() > most_contacts) {
                error(messages::bad_count, element_,
                      "a switch with more than " + std::to_string(most_positions) + " positions or " +
                          std::to_string(most_contacts) + " pairs of lugs",
                      "is this one switch?");
                return;
            }
            const bool now = stated ? name == state : positions.size() == 1;
            if (has(Attr::joins) && !text(Attr::joins).empty())
                for (const auto& [pair, at] : names(Attr::joins)) {
                    const std::size_t dash = pair.find('-');
                    if (dash == std::string::npos || dash == 0 || dash + 1 == pair.size() ||
                        pair.find('-', dash + 1) != std::string::npos || pair.find('.') != std::string::npos) {
                        error(messages::bad_name, at, quoted(pair) + " is no pair of lugs",
                              "two lugs of this switch with a dash between them: \"1-2\"");
                        continue;
                    }
                    std::string first = pair.substr(0, dash), second = pair.substr(dash + 1);
                    if (second < first) std::swap(first, second);
                    auto known = std::find_if(contacts.begin(), contacts.end(),
                                              [&](const Contact& c) { return c.first == first && c.second == second; });
                    if (known == contacts.end())
                        known =
                            contacts.insert(contacts.end(), Contact{std::move(first), std::move(second), false, at});
                    known->closed = known->closed || now;
                }
            no_children(child, Tag::position);
        }
        if (stated && std::find(positions.begin(), positions.end(), state) == positions.end())
            error(messages::unknown_word, state_spot, quoted(state) + " is no position of " + id,
                  "write the name of one of its positions");
        if (id.empty()) return;
        for (const Contact& contact : contacts) {
            const std::string mark = contact.first + "-" + contact.second;
            Part& made = assembly_.add(PartKind::power_switch, id + "." + mark, here, id_spot);
            assembly_.spots(here, construction);
            take_over(made, shared);
            if (made.construction.empty()) made.construction = "wafer-switch";
            made.can = id;
            made.mark = mark;
            made.closed = contact.closed;
            assembly_.lead(made, contact.first, id + "." + contact.first, contact.spot);
            assembly_.lead(made, contact.second, id + "." + contact.second, contact.spot);
        }
    }

    void vibrator() {
        Part& made = part(PartKind::vibrator);
        if (word_in(Attr::role, vibrator_roles()) >= 0) made.role = text(Attr::role);
        made.hertz = value(Attr::hertz, Measure::hertz);
        if (!unknown(Attr::duty)) {
            const Outcome<double> read = read_value(given(Attr::duty).value, Measure::per_cent);
            if (!read)
                value_error(given(Attr::duty), 0, given(Attr::duty).value, read.notices().front());
            else
                made.duty = *read > 1 ? *read / 100 : *read;  // ".85" and "85 %" are the same
            if (made.duty && (*made.duty <= 0 || *made.duty > 1))
                error(messages::value_out_of_range, inside(given(Attr::duty), 0),
                      quoted(text(Attr::duty)) + " is no share of the time", "0 to 1: \".85\"");
        }
        lead(made, "reed", Attr::reed);
        const auto contacts = names(Attr::contacts);
        const bool traced = has(Attr::reed) || has(Attr::contacts);
        if (traced && !has(Attr::role))
            error(messages::missing_attribute, element_, "<vibrator> has no role",
                  joined({"one of ", words_of(Tag::vibrator, Attr::role)}));
        const std::size_t wanted = made.role == "synchronous" ? 4 : 2;
        if (!made.role.empty() && !contacts.empty() && contacts.size() != wanted)
            error(messages::bad_count, spot(Attr::contacts),
                  "a " + made.role + " vibrator has " + std::to_string(wanted) + " contacts, and here are " +
                      std::to_string(contacts.size()),
                  wanted == 2 ? "the two that feed the primary"
                              : "the two of the primary, then the two of the secondary");
        for (std::size_t i = 0; i < contacts.size(); ++i)
            assembly_.lead(made, std::to_string(i + 1), contacts[i].first, contacts[i].second);
        if (!has(Attr::contacts))
            for (std::size_t i = 1; i <= wanted; ++i) lead(made, std::to_string(i), Attr::contacts);
    }

    void line() {
        if (line_seen_)
            error(messages::element_twice, element_, "a second <line>", "a set has one line; leave one out");
        line_seen_ = true;
        if (const auto v = value(Attr::volts, Measure::volts)) {
            assembly_.line.volts = *v;
            assembly_.line.volts_stated = true;
        }
        // Direct current has no cycles.
        if (text(Attr::hertz) == "0" || text(Attr::hertz) == "dc")
            assembly_.line.hertz = 0;
        else if (const auto f = value(Attr::hertz, Measure::hertz))
            assembly_.line.hertz = *f;
        if (has(Attr::supply) && word_in(Attr::supply, supply_words()) >= 0) assembly_.line.supply = text(Attr::supply);
        assembly_.line.watts = value(Attr::watts, Measure::watts);
        if (has(Attr::hot) != has(Attr::neutral)) {
            const std::string_view missing = has(Attr::hot) ? "neutral" : "hot";
            error(messages::missing_attribute, element_, joined({"<line> has no ", missing}),
                  joined({"write ", missing, "=\"...\"; neither where the plug is not traced"}));
        }
        assembly_.line_nets(text(Attr::hot), spot(Attr::hot), text(Attr::neutral), spot(Attr::neutral));
    }

    std::optional<CapacitorPrint> print(Attr attr) {
        if (unknown(attr)) return std::nullopt;
        const Outcome<CapacitorPrint> read = read_capacitor(given(attr).value);
        if (read) return *read;
        value_error(given(attr), 0, given(attr).value, read.notices().front());
        return std::nullopt;
    }

    /// Documented, found and fitted, as three_ohms().
    void capacitance(Part& made) {
        documented_capacitance(made);
        three_words(made, Attr::value);
        if (const std::optional<CapacitorPrint> found = print(Attr::found)) made.found_value = found->farads;
        if (const std::optional<CapacitorPrint> fitted = print(Attr::fitted)) {
            made.farads = fitted->farads;
            if (fitted->volts) made.rated_volts = fitted->volts;
        }
        if (!made.farads) made.farads = made.found_value;
    }

    void documented_capacitance(Part& made) {
        if (unknown(Attr::value)) {
            made.rated_volts = value(Attr::volts, Measure::volts);
            return;
        }
        const Given& print = given(Attr::value);
        const Outcome<CapacitorPrint> read = read_capacitor(print.value);
        if (!read) {
            value_error(print, 0, print.value, read.notices().front());
        } else {
            made.farads = read->farads;
            made.rated_volts = read->volts;
            if (read->least) made.documented = print.value;  // the range as it stands
            const bool turns = made.construction.find("trimmer") != std::string::npos ||
                               made.construction.find("variable") != std::string::npos;
            if (turns && read->volts)
                error(messages::value_two_readings, inside(print, 0),
                      quoted(print.value) + " on a " + made.construction + " is a range without a unit",
                      joined({"write \"", print.value, " mmf\""}));
        }
        if (!has(Attr::volts)) return;
        const std::optional<double> volts = value(Attr::volts, Measure::volts);
        if (volts && made.rated_volts && *volts != *made.rated_volts)
            error(messages::value_two_readings, inside(given(Attr::volts), 0),
                  quoted(text(Attr::volts)) + " stands beside " + quoted(print.value), "write the volts once");
        if (volts) made.rated_volts = volts;
    }

    void capacitor() {
        Part& made = part(PartKind::capacitor);
        capacitance(made);
        made.tolerance = tolerance();
        colours(made, made.farads);
        made.insulated = has(Attr::insulated) && yes(Attr::insulated);
        const bool poles = has(Attr::plus) || has(Attr::minus), plain = has(Attr::a) || has(Attr::b);
        if (poles && plain) {
            error(messages::exclusive_attributes, element_, "a capacitor with plus or minus and a or b",
                  "plus and minus for an electrolytic, a and b for the rest");
            return;
        }
        made.polarised = poles;
        if (poles) {
            lead(made, "plus", Attr::plus);
            lead(made, "minus", Attr::minus);
        } else {
            two_leads(made);
        }
    }

    void lamp() {
        Part& made = part(PartKind::lamp);
        if (!unknown(Attr::type)) made.lamp_type = text(Attr::type);
        made.rated_volts = value(Attr::volts, Measure::volts);
        made.rated_amps = value(Attr::amps, Measure::amps);
        if (!made.lamp_type.empty() && !catalogue_.lamp(made.lamp_type))
            assembly_.notice(messages::note_lamp_type, Severity::note, inside(given(Attr::type), 0),
                             "the catalogue has no lamp " + quoted(made.lamp_type),
                             "write its volts=\"...\" and amps=\"...\"");
        two_leads(made);
    }

    void can(const pugi::xml_node& node) {
        const std::string id(text(Attr::id));
        const std::string_view minus = text(Attr::minus);
        const Spot minus_spot = spot(Attr::minus);
        Part shared;
        common(shared);
        shared.insulated = has(Attr::insulated) && yes(Attr::insulated);
        const Spot construction = has(Attr::construction) ? inside(given(Attr::construction), 0) : element_;
        if (has(Attr::minus) && minus.empty())
            error(messages::bad_name, minus_spot, "the attribute \"minus\" is empty",
                  "write a name, or leave the attribute out");
        if (!id.empty()) assembly_.can(id, minus, spot(Attr::id), minus_spot);
        const Spot can_spot = element_;
        const Given print = has(Attr::value) ? given(Attr::value) : Given();
        std::optional<CanPrint> values;
        if (!unknown(Attr::value)) {
            const Outcome<CanPrint> read = read_can(print.value);
            if (read)
                values = *read;
            else
                value_error(print, 0, print.value, read.notices().front());
        }
        int sections = 0;
        for (pugi::xml_node child = node.first_child(); child; child = child.next_sibling()) {
            if (child.type() != pugi::node_element) continue;
            const ElementRule* rule = rule_for(child, Tag::can);
            if (!rule) continue;
            ++sections;
            collect(child, *rule);
            if (text(Attr::mark).empty() || id.empty()) continue;
            Part& made = assembly_.add(PartKind::capacitor, id + "." + std::string(text(Attr::mark)), element_,
                                       spot(Attr::mark));
            assembly_.spots(element_, construction);
            take_over(made, shared);
            made.can = id;
            made.mark = text(Attr::mark);
            common(made);
            made.polarised = true;
            capacitance(made);
            if (values && static_cast<std::size_t>(sections) <= values->farads.size()) {
                const double printed_farads = values->farads[static_cast<std::size_t>(sections) - 1];
                if (made.farads && !unknown(Attr::value) && !has(Attr::fitted) &&
                    std::fabs(*made.farads / printed_farads - 1) > 1e-6)
                    error(messages::value_two_readings, inside(given(Attr::value), 0),
                          quoted(text(Attr::value)) + " is " + printed(*made.farads, Measure::farads) + ", and " +
                              quoted(print.value) + " of the can gives this section " +
                              printed(printed_farads, Measure::farads),
                          "write one of the two; what was found beside what is documented is found=\"...\"");
                if (!made.farads) made.farads = printed_farads;
                if (!made.rated_volts) made.rated_volts = values->volts;
            }
            lead(made, "plus", Attr::plus);
            if (has(Attr::minus))
                lead(made, "minus", Attr::minus);
            else
                assembly_.lead(made, "minus", id + ".minus", element_);
            no_children(child, Tag::section);
        }
        if (values && sections > 0 && values->farads.size() != static_cast<std::size_t>(sections))
            error(messages::bad_count, inside(print, 0),
                  quoted(print.value) + " has " + std::to_string(values->farads.size()) + " figures for " +
                      std::to_string(sections) + " sections",
                  "a figure for each section, in their order");
        if (sections == 0)
            error(messages::missing_element, can_spot, "the can " + quoted(id) + " has no <section>",
                  "<section mark=\"square\" value=\"8 mfd\" volts=\"450\" plus=\"bplus\"/>");
    }

    void transformer(const pugi::xml_node& node) {
        Part& made = part(PartKind::transformer);
        if (word_in(Attr::role, transformer_roles()) >= 0) made.role = text(Attr::role);
        made.rated_va = value(Attr::va, Measure::volt_amperes);
        made.kilohertz = value(Attr::khz, Measure::kilohertz);
        std::vector<std::string> used;
        for (pugi::xml_node child = node.first_child(); child; child = child.next_sibling()) {
            if (child.type() != pugi::node_element) continue;
            const ElementRule* rule = rule_for(child, Tag::transformer);
            if (!rule) continue;
            collect(child, *rule);
            winding(made, used);
            no_children(child, Tag::winding);
            if (made.windings.size() > most_windings) {
                error(messages::bad_count, element_,
                      "a transformer with more than " + std::to_string(most_windings) + " windings",
                      "is this one part?");
                return;
            }
        }
    }

    /// The name of a winding: as given, else its role, with a number when that is taken.
    std::string winding_name(std::vector<std::string>& used) {
        const bool stated = !text(Attr::name).empty();
        std::string name(stated ? text(Attr::name) : text(Attr::role));
        const auto taken = [&] { return std::find(used.begin(), used.end(), name) != used.end(); };
        if (stated && taken())
            error(messages::duplicate_id, spot(Attr::name), "two windings are called " + quoted(name),
                  "give each its own name");
        if (!stated) {
            const std::string role = name;
            for (int n = 2; taken(); ++n) name = role + std::to_string(n);
        }
        used.push_back(name);
        return name;
    }

    void winding(Part& made, std::vector<std::string>& used) {
        PartWinding winding;
        winding.place = {name_, element_.line, element_.column};
        const int role = word_in(Attr::role, winding_roles());
        winding.role = role < 0 ? WindingRole::other : static_cast<WindingRole>(role);
        winding.name = winding_name(used);
        if (const auto words = words_of(text(Attr::volts)); several_figures(words)) {
            const bool plate = winding.role == WindingRole::plate;
            std::string read;
            for (const auto& [word, at] : words)
                if (word.front() >= '0' && word.front() <= '9') read += (read.empty() ? "" : " ") + std::string(word);
            error(messages::winding_figures, inside(given(Attr::volts), 0),
                  joined({"volts of a winding: ", quoted(text(Attr::volts)),
                          " is more than one figure, and one is meant: ",
                          plate ? "what is marked for a side"
                                : "what is marked for the whole, from its first lead to its last"}),
                  joined({plate ? "write that of one side" : "write the sum",
                          "; what was read from each lead to the next is noload-volts=", quoted(read)}));
        } else {
            winding.volts = value(Attr::volts, Measure::volts);
        }
        winding.noload_volts = values(Attr::noload_volts, Measure::volts);
        winding.ohms = values(Attr::ohms, Measure::ohms);
        winding.amps = value(Attr::amps, Measure::amps);
        winding.henries = value(Attr::henries, Measure::henries);
        if (!unknown(Attr::coupling)) {
            const Outcome<double> read = read_value(given(Attr::coupling).value, Measure::per_cent);
            if (!read)
                value_error(given(Attr::coupling), 0, given(Attr::coupling).value, read.notices().front());
            else if (const double share = *read > 1 ? *read / 100 : *read; share > 0 && share <= 1)
                winding.coupling = share;  // ".02" and "2 %" are the same
            else
                error(messages::value_out_of_range, inside(given(Attr::coupling), 0),
                      quoted(text(Attr::coupling)) + " is no coupling of two windings", "0 to 1: \".02\"");
        }
        const auto impedances = words_of(text(Attr::impedance));
        const bool tapped_load = winding.role == WindingRole::output_secondary && several_figures(impedances);
        if (tapped_load)
            winding.tap_ohms = values(Attr::impedance, Measure::ohms);
        else
            winding.impedance_ohms = value(Attr::impedance, Measure::ohms);
        const auto leads = names(Attr::leads);
        const bool countable = leads.size() >= 2 && leads.size() <= most_winding_leads;
        if (has(Attr::leads) && !leads.empty() && !countable)
            error(messages::winding_leads, inside(given(Attr::leads), 0),
                  "a winding has two leads, or more with taps between them, nine at most, and here are " +
                      std::to_string(leads.size()),
                  "leads=\"V5.2 gnd V5.3\"");
        const std::size_t halves = leads.size() - 1;
        for (const auto& [attr, list] :
             {std::pair{Attr::noload_volts, &winding.noload_volts}, {Attr::ohms, &winding.ohms}})
            if (countable && !list->empty() && list->size() != halves)
                error(messages::winding_figures, inside(given(attr), 0),
                      halves > 1 ? "a tapped winding needs one figure from each lead to the next, " +
                                       std::to_string(halves) + " here"
                                 : std::string("a winding without a tap has one figure"),
                      halves > 1 ? "write them with blanks, as in \"185 210\"" : "write one, or three leads");
        if (countable && tapped_load && winding.tap_ohms.size() != halves)
            error(messages::winding_figures, inside(given(Attr::impedance), 0),
                  "an output secondary has one impedance for each lead but its common one, " + std::to_string(halves) +
                      " here",
                  "in the order of the leads, as in leads=\"gnd t4 t8 t16\" impedance=\"4 8 16\"");
        // "T1.red" in T1's own windings is the name of the lead.
        const std::string own = made.id + ".";
        for (std::size_t i = 0; i < leads.size(); ++i) {
            const auto& [net, at] = leads[i];
            std::string name = winding.name + (i == 0                  ? ".1"
                                               : i + 1 == leads.size() ? ".2"
                                               : leads.size() == 3     ? ".tap"
                                                                       : ".tap" + std::to_string(i));
            if (!made.id.empty() && net.starts_with(own)) name = net.substr(own.size());
            if (const int known = made.lead(name); known >= 0) {
                winding.leads.push_back(known);  // two windings share a lead
                continue;
            }
            winding.leads.push_back(static_cast<int>(made.leads.size()));
            assembly_.lead(made, name, net, at);
        }
        made.windings.push_back(std::move(winding));
    }

    std::string_view text_;
    const std::string& name_;
    const Catalogue& catalogue_;
    Assembly assembly_;
    const char* buffer_ = nullptr;
    std::size_t base_ = 0;  ///< offset of buffer_ in the file
    PlaceCursor* places_ = nullptr;
    bool ascii_ = true, line_seen_ = false, vehicle_battery_ = false;
    MMeans m_means_ = MMeans::unstated;
    int suggestions_ = 0;
    // The element being read.
    Spot element_;
    int count_ = 0;  ///< elements so far
    std::array<Given, static_cast<std::size_t>(Attr::count)> given_{};
};

}  // namespace

Outcome<Chassis> read_chassis_text(std::string_view xml, const std::string& name, const Catalogue& catalogue) {
    if (std::optional<Outcome<Chassis>> set = Reader(xml, name, catalogue).read()) return *std::move(set);
    return Reader(xml, name, catalogue).explain();
}

Outcome<std::string> read_text(const std::string& path) {
    const bool standard_input = path == "-";
    struct Close {
        void operator()(std::FILE* file) const {
            if (file != stdin) std::fclose(file);
        }
    };
    const std::unique_ptr<std::FILE, Close> file(standard_input ? stdin : std::fopen(path.c_str(), "rb"));
    const auto failed = [&](const char* message, const char* remedy) {
        Notice notice;
        notice.number = messages::cannot_open;
        notice.place.file = standard_input ? "standard input" : path;
        notice.message = message;
        notice.remedy = remedy;
        return Outcome<std::string>(notice);
    };
    if (!file) return failed("the file cannot be opened", "check its name and whether you may read it");
    std::string text;
    const std::size_t most = Limits().bytes + 1;
    char block[65536];
    while (text.size() < most) {
        const std::size_t got = std::fread(block, 1, sizeof block, file.get());
        text.append(block, got);
        if (got < sizeof block) break;
    }
    if (std::ferror(file.get())) return failed("the file cannot be read", "is it a folder?");
    return text;
}

Outcome<Chassis> read_chassis(const std::string& path, const Catalogue& catalogue) {
    const Outcome<std::string> text = read_text(path);
    if (!text) return text.notices();
    return read_chassis_text(*text, path == "-" ? "standard input" : path, catalogue);
}

}  // namespace tubewright
