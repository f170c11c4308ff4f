// SPDX-License-Identifier: MIT
// The catalogue: tables compiled in, read once a process, looked up by the names that people write. A type is sought as
// written; then each half of a slash name; then without the letters of its envelope (G, GT, GT/G, -A, -B, also GTA and
// GTB on either side); then among the equal types that a row's note names; then as the makers of the twenties printed
// it, "UX-226", "171A" and "280" for 26, 71A and 80 (common practice, no source). Tests: tests/catalogue/.
#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <stdexcept>

#include <tubewright/catalogue.hpp>

#include "catalogue/embedded.hpp"
#include "catalogue/tables.hpp"
#include "terms/csv.hpp"
#include "terms/numbers.hpp"

namespace tubewright {
namespace {

std::string upper(std::string_view text) {
    std::string out;
    for (char c : text)
        if (c != ' ') out += c >= 'a' && c <= 'z' ? static_cast<char>(c - 'a' + 'A') : c;
    return out;
}

/// A type without the letters of its envelope and its revision: "5Y3GT" and "5Y3G" give "5Y3", "12AX7-A" and "12AX7A"
/// "12AX7".
std::string bare_type(std::string type) {
    for (std::string_view tail :
         {"GT/G", "G/GT", "GTA", "GTB", "GTY", "GT", "GA", "GB", "GC", "G", "-A", "-B", "-C", "A", "B"}) {
        if (type.size() <= tail.size() + 1 || !type.ends_with(tail)) continue;
        const char before = type[type.size() - tail.size() - 1];
        const bool digit = before >= '0' && before <= '9';
        const bool dash = before == '-';
        if (!digit && !dash) continue;
        type.resize(type.size() - tail.size());
        if (dash) type.pop_back();
        break;
    }
    return type;
}

/// "UX-226" and "226" to "26", "171A" to "71A": two or three letters for the base, and a figure for the maker.
std::string without_maker(std::string type) {
    const auto digit = [](char c) { return c >= '0' && c <= '9'; };
    for (const std::string_view base : {"UX-", "UY-", "UV-", "CX-", "CY-", "C-"})
        if (type.starts_with(base) && type.size() > base.size() && digit(type[base.size()])) {
            type.erase(0, base.size());
            break;
        }
    const bool maker = (type.size() == 3 || (type.size() == 4 && !digit(type[3]))) && type[0] >= '1' &&
                       type[0] <= '5' && digit(type[1]) && digit(type[2]);
    if (maker) type.erase(0, 1);
    return type;
}

std::vector<std::string> halves(const std::string& type) {
    std::vector<std::string> out;
    std::size_t from = 0;
    for (;;) {
        const std::size_t slash = type.find('/', from);
        out.push_back(type.substr(from, slash - from));
        if (slash == std::string::npos) break;
        from = slash + 1;
    }
    return out;
}

/// Names given as equal in a note: "= 6BQ5", "; = ECC83".
std::vector<std::string> equal_names(std::string_view note) {
    std::vector<std::string> names;
    for (std::size_t at = note.find("= "); at != std::string_view::npos; at = note.find("= ", at + 2)) {
        std::string_view rest = note.substr(at + 2);
        const std::size_t end = rest.find_first_of(" ;,");
        names.push_back(upper(rest.substr(0, end)));
    }
    return names;
}

std::size_t edits(std::string_view a, std::string_view b) {
    std::vector<std::size_t> row(b.size() + 1);
    for (std::size_t j = 0; j <= b.size(); ++j) row[j] = j;
    for (std::size_t i = 1; i <= a.size(); ++i) {
        std::size_t diagonal = row[0];
        row[0] = i;
        for (std::size_t j = 1; j <= b.size(); ++j) {
            const std::size_t kept = row[j];
            row[j] = std::min({row[j] + 1, row[j - 1] + 1, diagonal + (a[i - 1] == b[j - 1] ? 0U : 1U)});
            diagonal = kept;
        }
    }
    return row[b.size()];
}

}  // namespace

const Pin* TubeType::pin(std::string_view name) const {
    for (const Pin& p : pins) {
        if (p.pin != name) continue;
        for (const std::string& e : p.electrodes)
            if (e != "nc" && e != "ic") return &p;
    }
    return nullptr;
}

struct Catalogue::Tables {
    std::vector<std::pair<std::string, std::string>> texts;
    std::vector<TubeType> tubes;
    std::map<std::string, std::size_t, std::less<>> tube_names;
    std::vector<OperatingPoint> points;
    std::vector<RectifierType> rectifiers;
    std::map<std::string, std::size_t, std::less<>> rectifier_names;
    std::vector<ConverterOscillator> oscillators;
    std::vector<Construction> constructions;
    std::vector<FailureMode> modes;
    std::vector<Rate> rates;
    std::vector<FuseRow> fuses;
    std::vector<LampRow> lamps;
    std::vector<StepCost> steps;
    std::string prices_dated = "2026-11";  ///< of the column `cost` of step_minutes.csv
    std::vector<Caution> cautions;
    std::map<std::string, std::vector<double>, std::less<>> stock;
    std::vector<std::pair<double, double>> film_values, electrolytic_values;
    std::vector<double> none;

    CsvTable table(std::string_view name) const {
        for (const auto& [known, text] : texts) {
            if (known != name) continue;
            Outcome<CsvTable> read = read_csv(text, known + ".csv");
            if (!read) throw std::logic_error(read.notices().front().text());
            return std::move(*read);
        }
        throw std::logic_error("no table " + std::string(name));
    }

    /// Names by decreasing right: a type's own name, halves of slash names, bare names, equal types.
    template <class Rows>
    static std::map<std::string, std::size_t, std::less<>> names_of(const Rows& rows) {
        std::map<std::string, std::size_t, std::less<>> names;
        for (std::size_t k = 0; k < rows.size(); ++k) names.emplace(upper(rows[k].type), k);
        for (std::size_t k = 0; k < rows.size(); ++k)
            for (const std::string& half : halves(upper(rows[k].type))) names.emplace(half, k);
        for (std::size_t k = 0; k < rows.size(); ++k) names.emplace(bare_type(upper(rows[k].type)), k);
        for (std::size_t k = 0; k < rows.size(); ++k)
            for (const std::string& equal : equal_names(rows[k].note))
                for (const std::string& half : halves(equal)) names.emplace(half, k);
        return names;
    }

    static std::optional<std::size_t> find(const std::map<std::string, std::size_t, std::less<>>& names,
                                           std::string_view type) {
        const std::string written = upper(type);
        if (written.empty()) return std::nullopt;
        if (auto it = names.find(written); it != names.end()) return it->second;
        if (auto it = names.find(bare_type(written)); it != names.end()) return it->second;
        for (const std::string& half : halves(written)) {
            if (half.size() < 2) continue;
            if (auto it = names.find(half); it != names.end()) return it->second;
            if (auto it = names.find(bare_type(half)); it != names.end()) return it->second;
        }
        const std::string later = without_maker(written);
        if (later == written) return std::nullopt;
        if (auto it = names.find(later); it != names.end()) return it->second;
        return std::nullopt;
    }

    Tables() {
        for (const tables::EmbeddedTable* t = tables::embedded; t->pieces != nullptr; ++t) {
            std::string text;
            for (int k = 0; k < t->count; ++k) text += t->pieces[k];
            texts.emplace_back(t->name, std::move(text));
        }
        tubes = tables::tubes(table("tubes"));
        tube_names = names_of(tubes);
        points = tables::operating_points(table("operating_points"));
        rectifiers = tables::rectifiers(table("rectifiers"));
        rectifier_names = names_of(rectifiers);
        oscillators = tables::converter_oscillators(table("converter_oscillators"));
        constructions = tables::constructions(table("constructions"));
        modes = tables::failure_modes(table("failure_modes"));
        rates = tables::rates(table("rates"));
        fuses = tables::fuses(table("fuses"));
        lamps = tables::lamps(table("lamps"));
        steps = tables::step_costs(table("step_minutes"));
        cautions = tables::cautions(table("cautions"));
        const CsvTable ladders = table("stock");
        for (std::size_t k = 0; k < ladders.records.size(); ++k)
            stock[std::string(ladders.text(k, 0))].push_back(plain_number(ladders.text(k, 1)).value_or(0));
        for (auto& [name, values] : stock) std::sort(values.begin(), values.end());
        const CsvTable values = table("modern_values");
        for (std::size_t k = 0; k < values.records.size(); ++k) {
            auto& list = values.text(k, 0) == "electrolytic" ? electrolytic_values : film_values;
            list.emplace_back(plain_number(values.text(k, 1)).value_or(0) * 1e-6,
                              plain_number(values.text(k, 2)).value_or(0) * 1e-6);
        }
    }
};

Catalogue Catalogue::shipped() {
    static const std::shared_ptr<const Tables> tables = std::make_shared<const Tables>();
    Catalogue catalogue;
    catalogue.tables_ = tables;
    return catalogue;
}

const TubeType* Catalogue::tube(std::string_view type) const {
    const auto found = Tables::find(tables_->tube_names, type);
    return found ? &tables_->tubes[*found] : nullptr;
}

std::vector<std::string> Catalogue::nearest_tubes(std::string_view type) const {
    const std::string written = bare_type(upper(type));
    std::vector<std::pair<std::size_t, std::size_t>> ranked;
    for (std::size_t k = 0; k < tables_->tubes.size(); ++k)
        ranked.emplace_back(edits(written, bare_type(upper(tables_->tubes[k].type))), k);
    std::stable_sort(ranked.begin(), ranked.end(), [](const auto& a, const auto& b) { return a.first < b.first; });
    std::vector<std::string> out;
    for (const auto& [distance, k] : ranked) {
        if (out.size() == 3 || distance > 2) break;
        out.push_back(tables_->tubes[k].type);
    }
    return out;
}

const std::vector<TubeType>& Catalogue::tubes() const {
    return tables_->tubes;
}
const std::vector<OperatingPoint>& Catalogue::points() const {
    return tables_->points;
}

std::vector<OperatingPoint> Catalogue::points_of(const TubeType& type) const {
    std::vector<OperatingPoint> out;
    for (const OperatingPoint& p : tables_->points)
        if (p.type == type.type) out.push_back(p);
    return out;
}

const RectifierType* Catalogue::rectifier(std::string_view type) const {
    const auto found = Tables::find(tables_->rectifier_names, type);
    return found ? &tables_->rectifiers[*found] : nullptr;
}
const std::vector<RectifierType>& Catalogue::rectifiers() const {
    return tables_->rectifiers;
}

std::vector<ConverterOscillator> Catalogue::converter_oscillators_of(const TubeType& type) const {
    std::vector<ConverterOscillator> out;
    for (const ConverterOscillator& c : tables_->oscillators)
        if (c.type == type.type) out.push_back(c);
    return out;
}

const Construction* Catalogue::construction(std::string_view key) const {
    for (const Construction& c : tables_->constructions)
        if (c.key == key) return &c;
    return nullptr;
}
const std::vector<Construction>& Catalogue::constructions() const {
    return tables_->constructions;
}

std::vector<FailureMode> Catalogue::failure_modes(std::string_view mode_set) const {
    std::vector<FailureMode> out;
    for (const FailureMode& m : tables_->modes)
        if (m.mode_set == mode_set) out.push_back(m);
    return out;
}

const Rate* Catalogue::rate(std::string_view key) const {
    for (const Rate& r : tables_->rates)
        if (r.key == key) return &r;
    return nullptr;
}

const std::vector<FuseRow>& Catalogue::fuses() const {
    return tables_->fuses;
}
const std::vector<LampRow>& Catalogue::lamps() const {
    return tables_->lamps;
}

const LampRow* Catalogue::lamp(std::string_view type) const {
    std::string name = upper(type);
    if (!name.empty() && name.front() == '#') name.erase(0, 1);
    for (const LampRow& l : tables_->lamps)
        if (upper(l.type) == name) return &l;
    return nullptr;
}

const StepCost* Catalogue::step_cost(std::string_view key) const {
    for (const StepCost& s : tables_->steps)
        if (s.key == key) return &s;
    return nullptr;
}

Outcome<Catalogue> Catalogue::with_prices(std::string_view csv, std::string_view file) const {
    const Outcome<CsvTable> read = read_csv(csv, file);
    if (!read) return Outcome<Catalogue>(read.notices());
    std::vector<Notice> wrong;
    std::string keys = "the keys are ";
    for (const StepCost& s : tables_->steps)
        if (s.cost > 0) keys += (keys.back() == ' ' ? "" : ", ") + s.key;
    const auto complain = [&](const CsvField* field, const std::string& message, const std::string& remedy) {
        Place place{std::string(file), field ? field->line : 1, field ? field->column : 1};
        wrong.push_back({messages::price_not_read, Severity::error, place, message, remedy});
    };
    const int key = read->column("key"), cost = read->column("cost"), dated = read->column("dated");
    if (key < 0 || cost < 0) {
        complain(nullptr, "a price table has the columns key and cost", keys);
        return Outcome<Catalogue>(wrong);
    }
    const auto mine = std::make_shared<Tables>(*tables_);
    std::string newest;
    for (std::size_t k = 0; k < read->records.size(); ++k) {
        const CsvField &name = read->records[k][static_cast<std::size_t>(key)],
                       &price = read->records[k][static_cast<std::size_t>(cost)];
        const auto row =
            std::find_if(mine->steps.begin(), mine->steps.end(), [&](const StepCost& s) { return s.key == name.text; });
        const std::optional<double> amount = plain_number(price.text);
        if (row == mine->steps.end())
            complain(&name, "no price row is called '" + name.text + "'", keys);
        else if (!amount || !std::isfinite(*amount) || *amount < 0)
            complain(&price, "'" + price.text + "' is no price", "a number without currency, such as 2.50");
        else
            row->cost = *amount;
        newest = std::max(newest, std::string(read->text(k, dated)));
    }
    if (!wrong.empty()) return Outcome<Catalogue>(wrong);
    mine->prices_dated = std::string(file) + (newest.empty() ? "" : ", " + newest);
    Catalogue other;
    other.tables_ = mine;
    return other;
}

const std::string& Catalogue::prices_dated() const {
    return tables_->prices_dated;
}

const std::vector<Caution>& Catalogue::cautions() const {
    return tables_->cautions;
}

const std::vector<double>& Catalogue::stock(std::string_view ladder) const {
    const auto it = tables_->stock.find(ladder);
    return it == tables_->stock.end() ? tables_->none : it->second;
}

double Catalogue::modern_farads(double old_farads, bool electrolytic) const {
    for (const auto& [old_value, new_value] : electrolytic ? tables_->electrolytic_values : tables_->film_values)
        if (std::abs(old_value - old_farads) <= 1e-6 * old_value) return new_value;
    double best = old_farads, distance = std::numeric_limits<double>::infinity();
    for (double value : stock(electrolytic ? "electrolytic-farads" : "film-farads")) {
        const double apart = std::abs(std::log(value / old_farads));
        if (apart < distance) {
            distance = apart;
            best = value;
        }
    }
    return best;
}

std::string_view Catalogue::table(std::string_view name) const {
    for (const auto& [known, text] : tables_->texts)
        if (known == name) return text;
    return {};
}

std::vector<std::string> Catalogue::table_names() const {
    std::vector<std::string> names;
    for (const auto& [name, text] : tables_->texts) names.push_back(name);
    return names;
}

}  // namespace tubewright
