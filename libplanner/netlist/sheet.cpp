// SPDX-License-Identifier: MIT
// A spreadsheet (RFC 4180) to the text of a chassis file and back. A row is an element, a column an attribute; columns
// come in any order. Beside the attributes' own names a sheet may use the words of a parts list:
//
//     kind,id,value,rating,a,b,more,remark
//     resistor,R7,470k,1/2 W,V4.4,gnd,,grid leak
//     electrolytic,C1,8 mfd,475,V5.1,gnd,,first filter
//     control,R15,500k,,volume,gnd,wiper=slider,
//     tube,V4,42,,,,2=plate 3=bplus 5=k,pins as leads
//     lead,V4.4,,,grid,,,one row a lead
//
// value is the tube of a socket, the type of a lamp, the henries of a coil; rating is the volts of a capacitor, the
// watts of a resistor, the amperes of a fuse or winding; a and b are the ends by whatever name; more are further leads
// as lead=net; remark is the note. Rows of windings, sections and positions follow their transformer, can or switch, or
// name it under "of". Words of the header and kinds may have capitals; blanks around a field are nothing, but for those
// of a remark. What is wrong is told with the row and column of the sheet: the text made from it goes through the
// reader, and every place in that text is the place of a field. Tests: tests/netlist/sheet_test.cpp.
#include <tubewright/netlist.hpp>

#include <algorithm>
#include <map>
#include <pugixml.hpp>
#include <sstream>

#include "netlist/scan.hpp"
#include "netlist/vocabulary.hpp"
#include "terms/csv.hpp"
#include "terms/near.hpp"
#include "terms/numbers.hpp"
#include "terms/period_value.hpp"

namespace tubewright {
namespace {

constexpr std::string_view comment_kind = "comment";
constexpr std::string_view lead_kind = "lead";

/// Words of a parts list for elements, and the attributes that come with them.
struct KindWord {
    std::string_view word, element, attribute, value;
};
constexpr KindWord kind_words[] = {
    {"electrolytic", "capacitor", "", ""},
    {"condenser", "capacitor", "", ""},
    {"trimmer", "capacitor", "construction", "mica-trimmer"},
    {"padder", "capacitor", "construction", "mica-trimmer"},
    {"tube", "socket", "", ""},
    {"valve", "socket", "", ""},
    {"potentiometer", "control", "", ""},
    {"pot", "control", "", ""},
    {"choke", "coil", "role", "choke"},
    {"field", "coil", "role", "field"},
    {"selenium", "rectifier", "construction", "selenium"},
    {"silicon", "rectifier", "construction", "silicon"},
    {"bulb", "lamp", "", ""},
};

/// Columns that every sheet may have beside the attributes.
constexpr std::string_view list_columns[] = {"kind", "of", "rating", "more", "remark"};

std::string escaped(std::string_view text) {
    std::string out;
    for (const char c : text) {
        switch (c) {
            case '&':
                out += "&amp;";
                break;
            case '<':
                out += "&lt;";
                break;
            case '"':
                out += "&quot;";
                break;
            case '\t':
                out += "&#9;";
                break;
            case '\n':
                out += "&#10;";
                break;
            case '\r':
                out += "&#13;";
                break;
            default:
                out += c;
        }
    }
    return out;
}

int characters(std::string_view text) {
    return static_cast<int>(std::count_if(text.begin(), text.end(),
                                          [](char c) { return (static_cast<unsigned char>(c) & 0xC0U) != 0x80U; }));
}

/// The attribute that a column of a parts list means on this element; the name itself where it is one.
std::string_view attribute_of(std::string_view column, std::string_view element, bool polar) {
    if (column == "remark") return "note";
    if (column == "rating") {
        if (element == "capacitor" || element == "section" || element == "battery" || element == "rectifier")
            return "volts";
        if (element == "resistor" || element == "control" || element == "cord" || element == "ballast") return "watts";
        if (element == "fuse" || element == "winding" || element == "coil" || element == "untraced") return "amps";
        return element == "transformer" ? "va" : "volts";
    }
    if (column == "value") {
        if (element == "socket") return "tube";
        if (element == "lamp") return "type";
        if (element == "coil") return "henries";
        if (element == "fuse" || element == "untraced") return "amps";
        if (element == "battery" || element == "winding" || element == "line") return "volts";
        if (element == "speaker") return "ohms";
        if (element == "transformer") return "va";
        if (element == "strip") return "lugs";
    }
    if (column == "a" || column == "b") {
        const bool first = column == "a";
        if (element == "wire" || element == "cord") return first ? "from" : "to";
        if ((element == "capacitor" && polar) || element == "battery" || element == "section")
            return first ? "plus" : "minus";
        if (element == "rectifier") return first ? "anode" : "cathode";
        if (element == "can" && !first) return "minus";
        if (element == "untraced") return first ? "net" : "to";
        if (element == "line") return first ? "hot" : "neutral";
    }
    return column;
}

/// The lead that an attribute of an element places; empty for others.
std::string_view lead_of(std::string_view attribute, std::string_view element) {
    if (element == "untraced") return attribute == "net" ? "a" : attribute == "to" ? "b" : "";
    for (const std::string_view lead :
         {"a", "b", "plus", "minus", "anode", "cathode", "from", "to", "wiper", "tap", "reed"})
        if (lead == attribute && element != "can" && element != "section") return lead;
    return {};
}

std::string in_small_letters(std::string_view text) {
    std::string out(text);
    for (char& c : out) c = c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
    return out;
}

std::string_view without_blanks(std::string_view text) {
    constexpr std::string_view blanks = " \t\r\n";
    const std::size_t from = text.find_first_not_of(blanks);
    return from == std::string_view::npos ? std::string_view()
                                          : text.substr(from, text.find_last_not_of(blanks) - from + 1);
}

/// Words of the list and the attributes, as columns are called.
const std::vector<std::string_view>& known_columns() {
    static const std::vector<std::string_view> columns = [] {
        std::vector<std::string_view> known(std::begin(list_columns), std::end(list_columns));
        for (const ElementRule& rule : vocabulary())
            for (const std::string_view name : rule.attribute_names)
                if (std::find(known.begin(), known.end(), name) == known.end()) known.push_back(name);
        return known;
    }();
    return columns;
}

/// The header in the words that are known, blanks around fields away; returns where the words of the header begin.
std::vector<int> tidy(CsvTable& table) {
    std::vector<int> columns;
    int column = 1;
    for (std::string& word : table.header) {
        columns.push_back(column);
        column += characters(csv_field(word)) + 1;
        word = std::string(without_blanks(word));
        for (const std::string_view known : known_columns())
            if (in_small_letters(word) == in_small_letters(known)) word = known;
    }
    for (auto& record : table.records)
        for (std::size_t c = 0; c < record.size(); ++c) {
            if (table.header[c] == "remark" || table.header[c] == "note") continue;
            CsvField& field = record[c];
            const std::string_view kept = without_blanks(field.text);
            if (kept.size() == field.text.size()) continue;
            if (!kept.empty() && field.text.find('\n') == std::string::npos)
                field.column += static_cast<int>(kept.data() - field.text.data());
            field.text = std::string(kept);
        }
    if (const int kind = table.column("kind"); kind >= 0)
        for (auto& record : table.records) {
            std::string& text = record[static_cast<std::size_t>(kind)].text;
            text = in_small_letters(text);
        }
    return columns;
}

/// Where a piece of the text came from.
struct Origin {
    int line = 0, from = 0, to = 0;  ///< in the text, columns in characters
    int value_from = 0;              ///< column of the value's first character
    const CsvField* field = nullptr;
    int inside = 0;  ///< characters of the field before the value
};

class FromSheet {
  public:
    /// `faults`: what is wrong with the table as a table; its rows are looked at all the same.
    FromSheet(CsvReading reading, const std::string& name, const Catalogue& catalogue)
        : table_(std::move(reading.table)),
          name_(name),
          catalogue_(catalogue),
          faults_(std::move(reading.faults)),
          header_columns_(tidy(table_)) {
        for (std::size_t i = 0; i < faults_.size(); ++i)
            faults_[i].message = "row " + std::to_string(reading.rows[i]) + ": " + faults_[i].message;
    }

    Outcome<std::string> text() {
        check_columns();
        const bool columns = notices_.empty();
        if (!columns) {
            notices_.insert(notices_.end(), faults_.begin(), faults_.end());
            return notices_;
        }
        open();
        for (std::size_t r = 0; r < table_.records.size(); ++r)
            if (!done_[r]) row(r, "");
        line("</chassis>", nullptr);
        const bool whole = notices_.empty() && faults_.empty();
        const Outcome<Chassis> set = read_chassis_text(text_, name_, catalogue_);
        if (set && whole) return std::move(text_);
        if (!set)
            for (Notice notice : set.notices()) {
                // a row that was refused is missed by those that name it
                if (!whole && notice.number == messages::unknown_part) continue;
                place(notice);
                notices_.push_back(std::move(notice));
            }
        // of a row that is no row its commas are enough to say
        std::erase_if(notices_, [&](const Notice& n) {
            return std::any_of(faults_.begin(), faults_.end(),
                               [&](const Notice& fault) { return fault.place.line == n.place.line; });
        });
        notices_.insert(notices_.end(), faults_.begin(), faults_.end());
        std::stable_sort(notices_.begin(), notices_.end(), [](const Notice& a, const Notice& b) {
            return std::pair(a.place.line, a.place.column) < std::pair(b.place.line, b.place.column);
        });
        return notices_;
    }

  private:
    void complain(int number, const CsvField& field, std::string message, std::string remedy) {
        Notice notice;
        notice.number = number;
        notice.place = {name_, field.line, field.column};
        notice.message = where(field) + std::move(message);
        notice.remedy = std::move(remedy);
        notices_.push_back(std::move(notice));
    }

    /// "row 38, column value: ", as a spreadsheet counts.
    std::string where(const CsvField& field) const {
        if (field.row == 0) return "row 1: ";
        const std::size_t number = static_cast<std::size_t>(field.number);
        const bool named = number < table_.header.size() && !table_.header[number].empty();
        return "row " + std::to_string(field.row) + (named ? ", column " + table_.header[number] : std::string()) +
               ": ";
    }

    void check_columns() {
        const std::vector<std::string_view>& known = known_columns();
        const bool doubled = std::any_of(faults_.begin(), faults_.end(), [](const Notice& fault) {
            return fault.number == messages::csv_repeated_header;
        });
        for (std::size_t c = 0; c < table_.header.size(); ++c) {
            const std::string& name = table_.header[c];
            CsvField at;
            at.line = 1;
            at.column = header_columns_[c];
            const std::size_t mark = name.find_first_of(";\t");
            if (table_.header.size() == 1 && mark != std::string::npos) {
                faults_.clear();  // of every row it would be said again
                return complain(messages::csv_not_commas, at,
                                std::string("the columns are parted by ") +
                                    (name[mark] == ';' ? "semicolons" : "tabs") + ", not by commas",
                                "export the sheet as comma-separated text, fields with commas in quotation marks");
            }
            const auto first = std::find(table_.header.begin(), table_.header.end(), name) - table_.header.begin();
            if (!doubled && first != static_cast<std::ptrdiff_t>(c))
                complain(messages::csv_repeated_header, at, "the column '" + name + "' stands twice in the header",
                         "name every column once");
            if (std::find(known.begin(), known.end(), name) == known.end()) {
                const std::string near = suggestion(name, known);
                complain(messages::csv_unknown_column, at, "no column is called " + quoted(name),
                         near.empty()
                             ? "kind, id, value, rating, a, b, more, remark, or an attribute of the chassis file"
                             : near);
            }
        }
        if (table_.column("kind") < 0) {
            CsvField at;
            at.line = at.column = 1;
            complain(messages::csv_unknown_column, at, "no column is called \"kind\"",
                     "the first row names the columns: kind,id,value,rating,a,b,more,remark");
        }
        done_.assign(table_.records.size(), 0);
        for (std::size_t r = 0; r < table_.records.size(); ++r)
            if (const CsvField* of = field(r, "of")) named_by_[of->text].push_back(r);
    }
    const CsvField* field(std::size_t record, std::string_view column) const {
        const int index = table_.column(column);
        if (index < 0) return nullptr;
        const CsvField& found = table_.records[record][static_cast<std::size_t>(index)];
        return found.text.empty() ? nullptr : &found;
    }
    std::string text_of(std::size_t record, std::string_view column) const {
        const CsvField* found = field(record, column);
        return found ? found->text : std::string();
    }

    // ---- the text, with where each piece came from

    void begin(std::string_view text) { line_ = text; }
    void attribute(std::string_view name, std::string_view value, const CsvField* from, int inside) {
        Origin origin;
        origin.line = lines_ + 1;
        origin.from = characters(line_) + 2;
        line_ += " " + std::string(name) + "=\"";
        origin.value_from = characters(line_) + 1;
        line_ += escaped(value) + "\"";
        origin.to = characters(line_);
        origin.field = from;
        origin.inside = inside;
        origins_.push_back(origin);
    }
    void line(std::string_view text, const CsvField* row) {
        begin(text);
        end("", row);
    }
    void end(std::string_view close, const CsvField* row) {
        line_ += close;
        text_ += line_ + "\n";
        ++lines_;
        row_of_line_.push_back(row);
    }

    void place(Notice& notice) const {
        if (notice.place.line <= 0) return;
        // "the first is on line 7" is a row of the sheet too
        static constexpr std::string_view on_line = "on line ";
        if (const std::size_t said = notice.remedy.find(on_line); said != std::string::npos) {
            const std::size_t from = said + on_line.size();
            const std::size_t to = std::min(notice.remedy.find_first_not_of("0123456789", from), notice.remedy.size());
            const Outcome<int> other = read_whole(notice.remedy.substr(from, to - from), 1000000000);
            if (other && *other >= 1 && static_cast<std::size_t>(*other) <= row_of_line_.size())
                if (const CsvField* row = row_of_line_[static_cast<std::size_t>(*other) - 1])
                    notice.remedy.replace(said, to - said, "on row " + std::to_string(row->row));
        }
        const int at = notice.place.line, column = notice.place.column;
        for (const Origin& origin : origins_) {
            if (origin.line != at || column < origin.from || column > origin.to || origin.field == nullptr) continue;
            notice.message = where(*origin.field) + notice.message;
            notice.place.line = origin.field->line;
            notice.place.column = origin.field->column + (origin.field->quoted ? 1 : 0) + origin.inside +
                                  std::max(0, column - origin.value_from);
            return;
        }
        const CsvField* row = static_cast<std::size_t>(at) <= row_of_line_.size()
                                  ? row_of_line_[static_cast<std::size_t>(at) - 1]
                                  : nullptr;
        if (row) notice.message = "row " + std::to_string(row->row) + ": " + notice.message;
        notice.place.line = row ? row->line : 1;
        notice.place.column = row ? row->column : 1;
    }

    // ---- rows

    void open() {
        std::size_t root = table_.records.size();
        for (std::size_t r = 0; r < table_.records.size() && root == table_.records.size(); ++r)
            if (text_of(r, "kind") == "chassis") root = r;
        for (std::size_t r = 0; r < root && root < table_.records.size(); ++r)
            if (text_of(r, "kind") == comment_kind) row(r, "");
        begin("<chassis");
        if (root == table_.records.size()) {
            std::string stem = name_.substr(name_.find_last_of('/') + 1);
            stem = stem.substr(0, stem.find_last_of('.'));
            attribute("version", "1", nullptr, 0);
            attribute("name", stem.empty() ? "from a sheet" : stem, nullptr, 0);
            end(">", nullptr);
            return;
        }
        done_[root] = 1;
        if (!field(root, "version")) attribute("version", "1", nullptr, 0);
        attributes(root, "chassis");
        end(">", &table_.records[root].front());
    }

    bool polar(std::size_t r) const {
        const std::string kind = text_of(r, "kind");
        return kind == "electrolytic" || text_of(r, "construction").find("electrolytic") != std::string::npos;
    }

    /// Those that the element lacks are left to the reader, whose words are at this field then.
    void attributes(std::size_t r, std::string_view element) {
        std::vector<std::string_view> given;
        for (std::size_t c = 0; c < table_.header.size(); ++c) {
            const std::string_view column = table_.header[c];
            const CsvField& from = table_.records[r][c];
            if (from.text.empty() || column == "kind" || column == "of" || column == "more") continue;
            const std::string_view name = attribute_of(column, element, polar(r));
            if (std::find(given.begin(), given.end(), name) != given.end()) {
                complain(messages::duplicate_attribute, from,
                         quoted(column) + " and another column both say the " + std::string(name) + " of this row",
                         "write it once");
                continue;
            }
            given.push_back(name);
            if (const std::string_view lead = lead_of(name, element); !lead.empty() && field(r, "id"))
                gives(joined({text_of(r, "id"), ".", lead}), from.text, from);
            attribute(name, from.text, &from, 0);
        }
        for (const KindWord& word : kind_words)
            if (word.word == text_of(r, "kind") && !word.attribute.empty() && !field(r, word.attribute))
                attribute(word.attribute, word.value, field(r, "kind"), 0);
    }

    /// The element that the word under "kind" means; empty with a complaint.
    std::string_view element_of(std::size_t r) {
        const CsvField* kind = field(r, "kind");
        if (!kind) {
            complain(messages::unknown_element, table_.records[r].front(), "a row without a kind",
                     "resistor, capacitor, electrolytic, socket, transformer, winding ...");
            return {};
        }
        if (element_rule(kind->text)) return element_rule(kind->text)->name;
        for (const KindWord& word : kind_words)
            if (word.word == kind->text) return word.element;
        std::vector<std::string_view> known = element_names();
        for (const KindWord& word : kind_words) known.push_back(word.word);
        complain(messages::unknown_element, *kind, "no kind is called " + quoted(kind->text),
                 suggestion(kind->text, known));
        return {};
    }

    /// A row, and the rows that stand inside it.
    void row(std::size_t r, const std::string& indent) {
        done_[r] = 1;
        const CsvField& first = table_.records[r].front();
        const std::string kind = text_of(r, "kind");
        // spreadsheets write blank rows as commas alone
        if (std::all_of(table_.records[r].begin(), table_.records[r].end(),
                        [](const CsvField& one) { return one.text.empty(); }))
            return;
        if (kind == comment_kind) {
            std::string words = text_of(r, "remark");
            for (std::size_t at = words.find("--"); at != std::string::npos; at = words.find("--")) words[at + 1] = ' ';
            std::string close = " -->";
            if (!words.empty() && (words.back() == ' ' || words.back() == '\n')) close = "-->";
            const std::string open = words.empty() || words.front() == ' ' || words.front() == '\n' ? "<!--" : "<!-- ";
            // a comment may have lines of its own
            std::istringstream all(indent + "  " + open + words + close);
            for (std::string one; std::getline(all, one);) line(one, &first);
            return;
        }
        if (kind == lead_kind) return lead(r);
        const std::string_view element = element_of(r);
        if (element.empty()) return;
        if (element == "chassis")
            return complain(messages::element_twice, first, "a second row of kind chassis", "one a sheet");
        const ElementRule* rule = element_rule(element);
        if (rule->parent != Tag::chassis && indent.empty()) {
            complain(messages::element_misplaced, first,
                     "a " + std::string(element) + " that follows no " +
                         std::string(vocabulary()[static_cast<std::size_t>(rule->parent)].name),
                     "write its row under the one that it belongs to, or that one's id under \"of\"");
            return;
        }
        begin("  " + indent + "<" + std::string(element));
        attributes(r, element);
        const std::vector<std::size_t> inner = children(r, rule->tag);
        more(r, element);
        if (inner.empty()) {
            end("/>", &first);
        } else {
            end(">", &first);
            for (const std::size_t child : inner) row(child, indent + "  ");
            line("  " + indent + "</" + std::string(element) + ">", &first);
        }
        joins();
    }

    /// Rows that stand inside this one: those that name it under "of", and those that follow it at once without naming
    /// anything.
    std::vector<std::size_t> children(std::size_t r, Tag tag) const {
        std::vector<std::size_t> found;
        const std::string id = text_of(r, "id");
        const auto inner = [&](std::size_t c) {
            const ElementRule* rule = element_rule(text_of(c, "kind"));
            return rule && rule->tag != tag && rule->parent == tag && tag != Tag::chassis;
        };
        std::size_t c = r + 1;
        for (; c < table_.records.size(); ++c) {
            const std::string of = text_of(c, "of");
            const bool note = text_of(c, "kind") == comment_kind;
            const bool own = note && !of.empty() && of == id;
            if (!inner(c) && !own && !(note && of.empty() && next_is_inner(c, tag))) break;
            if (!done_[c] && (of.empty() || of == id)) found.push_back(c);
        }
        if (const auto named = named_by_.find(id); !id.empty() && named != named_by_.end())
            for (const std::size_t other : named->second)
                if (other >= c && !done_[other] && (inner(other) || text_of(other, "kind") == comment_kind))
                    found.push_back(other);
        return found;
    }
    /// Is the next row that is no comment one that stands inside this kind?
    bool next_is_inner(std::size_t c, Tag tag) const {
        for (++c; c < table_.records.size(); ++c) {
            if (text_of(c, "kind") == comment_kind) continue;
            const ElementRule* rule = element_rule(text_of(c, "kind"));
            return rule && rule->parent == tag && tag != Tag::chassis;
        }
        return false;
    }

    /// "wiper=slider 3=bplus": an attribute where the element has one of that name, else a join.
    void more(std::size_t r, std::string_view element) {
        const CsvField* field_there = field(r, "more");
        if (!field_there) return;
        const std::string& text = field_there->text;
        for (std::size_t at = 0; at < text.size();) {
            if (text[at] == ' ' || text[at] == ';' || text[at] == ',') {
                ++at;
                continue;
            }
            const std::size_t end_of = std::min(text.find_first_of(" ;,", at), text.size());
            const std::string piece = text.substr(at, end_of - at);
            const std::size_t equals = piece.find('=');
            if (equals == std::string::npos || equals == 0 || equals + 1 == piece.size()) {
                complain(messages::bad_name, *field_there, quoted(piece) + " is no lead and net",
                         "lead=net, with blanks between: \"wiper=slider\"");
            } else {
                const std::string lead = piece.substr(0, equals), net = piece.substr(equals + 1);
                const ElementRule* rule = element_rule(element);
                const auto& names = rule->attribute_names;
                const int inside = characters(text.substr(0, at + equals + 1));
                gives(joined({text_of(r, "id"), ".", lead}), net, *field_there);
                if (std::find(names.begin(), names.end(), lead) != names.end())
                    attribute(lead, net, field_there, inside);
                else
                    joins_.push_back({text_of(r, "id") + "." + lead + " " + net, field_there, inside});
            }
            at = end_of;
        }
    }
    void joins() {
        const std::vector<Join> all = std::move(joins_);
        joins_.clear();
        for (const Join& join : all) {
            begin("  <join");
            attribute("at", join.names, join.field, join.inside);
            end("/>", join.field);
        }
    }

    /// One row a lead. The lead is "V4.2" under id, or the part under id and its pin under value, or the pin under id
    /// and the part under of; its net stands under a, or in another of these when a is empty.
    void lead(std::size_t r) {
        const CsvField* id = field(r, "id");
        std::string lead = id ? id->text : std::string();
        std::vector<std::string_view> used{"kind", "id", "remark", "note"};
        if (const CsvField* of = field(r, "of")) {
            lead = of->text + "." + lead;
            used.push_back("of");
        } else if (const CsvField* pin = field(r, "value");
                   pin && field(r, "a") && lead.find('.') == std::string::npos) {
            lead += "." + pin->text;
            used.push_back("value");
        }
        const CsvField* net = nullptr;
        for (const std::string_view column : {"a", "net", "value", "b"})
            if (!net && std::find(used.begin(), used.end(), column) == used.end() && (net = field(r, column)))
                used.push_back(column);
        if (!id || !net) {
            complain(messages::missing_attribute, table_.records[r].front(), "a lead without an id or a net",
                     "lead,V4.2,...: the lead under id, its net under a");
            return;
        }
        if (lead.find('.') == std::string::npos) {
            complain(messages::bad_name, *id, quoted(lead) + " is a part, not one of its leads",
                     "write " + lead + ".2, or the pin under value and the net under a");
            return;
        }
        for (std::size_t c = 0; c < table_.header.size(); ++c)
            if (!table_.records[r][c].text.empty() &&
                std::find(used.begin(), used.end(), table_.header[c]) == used.end())
                complain(messages::unknown_attribute, table_.records[r][c],
                         "a row of kind lead has no place for what stands under " + quoted(table_.header[c]),
                         "a lead and its net: lead,V4.2,...");
        gives(lead, net->text, *net);
        joins_.push_back({lead + " " + net->text, id, 0});
        joins();
    }

    /// A lead stands on one net: two rows that give it two would make one net of them without a word.
    void gives(const std::string& lead, const std::string& net, const CsvField& field) {
        if (net == "?") return;
        const auto [said, is_new] = nets_.try_emplace(lead, net, &field);
        if (is_new || said->second.first == net) return;
        complain(messages::csv_two_nets, field,
                 lead + " stands on " + quoted(net) + " here, and on " + quoted(said->second.first) + " in row " +
                     std::to_string(said->second.second->row),
                 "one net a lead; nets that are one are joined by a row of kind join, both names under \"at\"");
    }

    struct Join {
        std::string names;
        const CsvField* field = nullptr;
        int inside = 0;
    };
    CsvTable table_;
    const std::string& name_;
    const Catalogue& catalogue_;
    std::vector<Notice> faults_;
    std::vector<int> header_columns_;
    std::map<std::string, std::pair<std::string, const CsvField*>> nets_;  ///< by lead: its net, and who says so
    std::vector<Notice> notices_;
    std::vector<char> done_;
    std::map<std::string, std::vector<std::size_t>, std::less<>> named_by_;  ///< rows by what stands under "of"
    std::string text_, line_;
    int lines_ = 0;
    std::vector<Origin> origins_;
    std::vector<const CsvField*> row_of_line_;
    std::vector<Join> joins_;
};

class ToSheet {
  public:
    explicit ToSheet(const pugi::xml_node& document) { walk(document, ""); }

    std::string text() const {
        std::vector<std::string> header{"kind", "of"};
        for (const std::string& name : order_) header.push_back(name);
        std::string out;
        const auto row = [&](const std::vector<std::string>& fields) {
            for (std::size_t i = 0; i < fields.size(); ++i) out += (i ? "," : "") + csv_field(fields[i]);
            out += "\r\n";
        };
        row(header);
        for (const auto& one : rows_) {
            std::vector<std::string> fields;
            for (const std::string& name : header) {
                const auto found = one.find(name);
                fields.push_back(found == one.end() ? std::string() : found->second);
            }
            row(fields);
        }
        return out;
    }

  private:
    void column(const std::string& name) {
        if (std::find(order_.begin(), order_.end(), name) == order_.end()) order_.push_back(name);
    }
    void walk(const pugi::xml_node& node, const std::string& of) {
        for (const pugi::xml_node& child : node.children()) {
            std::map<std::string, std::string> row;
            if (child.type() == pugi::node_comment) {
                row["kind"] = comment_kind;
                if (!of.empty()) row["of"] = of;
                row["remark"] = child.value();
                column("remark");
                rows_.push_back(std::move(row));
                continue;
            }
            if (child.type() != pugi::node_element) continue;
            row["kind"] = child.name();
            if (!of.empty()) row["of"] = without_blanks(of);
            for (const pugi::xml_attribute& a : child.attributes()) {
                row[a.name()] =
                    a.name() == std::string_view("note") ? std::string_view(a.value()) : without_blanks(a.value());
                column(a.name());
            }
            rows_.push_back(std::move(row));
            walk(child, std::string_view(child.name()) == "chassis" ? "" : child.attribute("id").value());
        }
    }
    std::vector<std::map<std::string, std::string>> rows_;
    std::vector<std::string> order_;
};

}  // namespace

Outcome<std::string> chassis_of_sheet(std::string_view csv, const std::string& name, const Catalogue& catalogue) {
    if (const std::string_view wide = wide_text(csv); !wide.empty()) {
        Notice notice;
        notice.number = messages::not_utf8;
        notice.place = {name, 1, 1};
        notice.message = joined({"this is ", wide, ", not UTF-8"});
        notice.remedy = "export the sheet as comma-separated text in UTF-8";
        return notice;
    }
    CsvReading reading = scan_csv(csv, name);
    if (reading.table.header.empty()) return std::move(reading.faults);
    return FromSheet(std::move(reading), name, catalogue).text();
}

Outcome<std::string> sheet_of_chassis(std::string_view xml, const std::string& name, const Catalogue& catalogue) {
    const Outcome<Chassis> set = read_chassis_text(xml, name, catalogue);
    if (!set) return set.notices();
    pugi::xml_document document;
    document.load_buffer(xml.data(), xml.size(),
                         pugi::parse_escapes | pugi::parse_wconv_attribute | pugi::parse_comments, pugi::encoding_utf8);
    return ToSheet(document).text();
}

}  // namespace tubewright
