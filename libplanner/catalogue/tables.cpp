// SPDX-License-Identifier: MIT
// See tables.hpp.
#include "catalogue/tables.hpp"

#include <charconv>

namespace tubewright::tables {
namespace {

/// One record seen by column names.
class Row {
  public:
    Row(const CsvTable& table, std::size_t record) : table_(table), record_(record) {}
    /// Columns are asked for in their order nearly always: the search begins after the last one found.
    std::string_view view(std::string_view column) const {
        const std::size_t width = table_.header.size();
        for (std::size_t k = 0; k < width; ++k) {
            const std::size_t at = next_ + k < width ? next_ + k : next_ + k - width;
            if (table_.header[at] != column) continue;
            next_ = at + 1 < width ? at + 1 : 0;
            return table_.records[record_][at].text;
        }
        return {};
    }
    std::string text(std::string_view column) const { return std::string(view(column)); }
    std::optional<double> number(std::string_view column, double unit = 1) const {
        const std::optional<double> value = plain_number(view(column));
        if (!value) return std::nullopt;
        return *value * unit;
    }
    double number_or_zero(std::string_view column) const { return number(column).value_or(0); }
    Source source() const { return source_of(view("source"), view("provenance")); }
    int line() const { return table_.records[record_].front().line; }

  private:
    const CsvTable& table_;
    std::size_t record_;
    mutable std::size_t next_ = 0;
};

template <class T, class Make>
std::vector<T> read(const CsvTable& table, Make make) {
    std::vector<T> rows;
    rows.reserve(table.records.size());
    for (std::size_t k = 0; k < table.records.size(); ++k) rows.push_back(make(Row(table, k)));
    return rows;
}

/// "1=h 5=k+g3 cap=g1" to pins.
std::vector<Pin> pins_of(std::string_view text) {
    std::vector<Pin> pins;
    while (!text.empty()) {
        const std::size_t space = text.find(' ');
        const std::string_view word = text.substr(0, space);
        text = space == std::string_view::npos ? std::string_view() : text.substr(space + 1);
        const std::size_t equals = word.find('=');
        if (equals == std::string_view::npos) continue;
        Pin pin{std::string(word.substr(0, equals)), {}};
        std::string_view rest = word.substr(equals + 1);
        // "h+" and "h-" are the ends of a filament, not two electrodes joined.
        while (!rest.empty()) {
            std::size_t plus = rest.find('+');
            if (plus == 1 && rest[0] == 'h' && (rest.size() == 2 || rest[2] == '+'))
                plus = rest.size() == 2 ? rest.npos : 2;
            if (plus == 2 && rest[0] == 'h' && rest[1] == '+' && rest.size() == 2) plus = rest.npos;
            pin.electrodes.emplace_back(rest.substr(0, plus));
            rest = plus == std::string_view::npos ? std::string_view() : rest.substr(plus + 1);
        }
        pins.push_back(std::move(pin));
    }
    return pins;
}

/// The first number in a text: "50 (late sheets...)" gives 50.
std::optional<double> leading_number(std::string_view text) {
    double value = 0;
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
    if (error != std::errc() || end == text.data()) return std::nullopt;
    return value;
}

/// Largest first filter named in a text, as "max first filter C 20 uF", "10-20 uF" or "C max 60 uF"; farads.
std::optional<double> first_filter_limit(std::string_view supply_text, std::string_view note, std::string_view source) {
    for (std::string_view text : {supply_text, note, source}) {
        for (std::string_view key : {"max first filter C ", "C max ", "10-"}) {
            const std::size_t at = text.find(key);
            if (at == std::string_view::npos) continue;
            const std::string_view rest = text.substr(at + key.size());
            const std::optional<double> value = leading_number(rest);
            if (value && rest.find(" uF") != std::string_view::npos && rest.find(" uF") <= 4) return *value * 1e-6;
        }
    }
    return std::nullopt;
}

/// "within 12%" gives 12.
std::optional<double> within_percent(std::string_view text) {
    const std::size_t at = text.find("within ");
    if (at == std::string_view::npos) return std::nullopt;
    return leading_number(text.substr(at + 7));
}

/// The worst of what the row mixes; of an operating point whose plate current a second source confirms, that current's.
Provenance grade(std::string_view text) {
    const auto has = [&](std::string_view word) { return text.find(word) != std::string_view::npos; };
    if (has("read as quoted")) return Provenance::published;
    if (has("disagrees")) return Provenance::recalled;
    if (has("Ip cross-checked"))
        return within_percent(text).value_or(100) <= 10 ? Provenance::cross_checked : Provenance::recalled;
    if (has("from-memory")) return Provenance::recalled;
    if (has("transcription")) return Provenance::cross_checked;
    if (has("computed")) return Provenance::computed;
    if (has("practice")) return Provenance::practice;
    return Provenance::assumed;
}

}  // namespace

Source source_of(std::string_view source, std::string_view provenance) {
    return {grade(provenance), std::string(source) + " [" + std::string(provenance) + "]"};
}

std::vector<TubeType> tubes(const CsvTable& table) {
    return read<TubeType>(table, [](const Row& row) {
        TubeType t;
        t.type = row.text("type");
        t.tube_class = row.text("class");
        t.base = row.text("base");
        t.pins = pins_of(row.view("pinout"));
        t.heater_volts = row.number("heater_V");
        t.heater_amps = row.number("heater_A");
        t.directly_heated = row.view("heating") == "direct";
        t.max_plate_volts = row.number("max_plate_V");
        t.max_screen_volts = row.number("max_screen_V");
        t.max_plate_watts = row.number("max_plate_W");
        t.max_screen_watts = row.number("max_screen_W");
        t.max_cathode_amps = row.number("max_cathode_mA", 1e-3);
        t.max_heater_cathode_volts = row.number("heater_cathode_max_V");
        t.note = row.text("note");
        t.heater_cathode_direct = row.view("note").find("hk direct") != std::string_view::npos;
        t.source = row.source();
        return t;
    });
}

std::vector<OperatingPoint> operating_points(const CsvTable& table) {
    return read<OperatingPoint>(table, [](const Row& row) {
        OperatingPoint p;
        p.type = row.text("type");
        p.section = row.text("section");
        p.plate_volts = row.number("Vp");
        p.screen_volts = row.number("Vg2");
        p.grid_volts = row.number("Vg1");
        p.plate_amps = row.number("Ip_mA", 1e-3);
        p.screen_amps = row.number("Ig2_mA", 1e-3);
        p.gm_siemens = row.number("gm_uS", 1e-6);
        p.rp_ohms = row.number("rp_ohm");
        p.mu = row.number("mu");
        p.load_ohms = row.number("load_ohm");
        p.output_watts = row.number("Pout_W");
        p.note = row.text("note");
        p.source = row.source();
        p.row = row.line();
        return p;
    });
}

std::vector<RectifierType> rectifiers(const CsvTable& table) {
    return read<RectifierType>(table, [](const Row& row) {
        RectifierType r;
        r.type = row.text("type");
        r.max_ac_volts_rms = row.number("max_AC_V_rms_per_plate_cap_input");
        r.max_dc_amps = row.number("max_DC_mA", 1e-3);
        r.max_peak_amps = row.number("max_peak_plate_mA", 1e-3);
        r.max_inverse_volts = row.number("max_PIV");
        r.drop_volts = row.number("drop_V");
        r.drop_amps = row.number("drop_mA", 1e-3);
        const std::string_view supply = row.view("min_plate_supply_impedance_ohm_per_plate");
        r.min_supply_ohms_per_plate = leading_number(supply);
        r.dc_per_plate = row.view("note").find("mA dc per plate") != std::string_view::npos;
        r.max_first_filter_farads = first_filter_limit(supply, row.view("note"), row.view("source"));
        r.gas = row.view("note").find("mercury vapour") != std::string_view::npos ||
                row.view("note").find("cold cathode gas") != std::string_view::npos;
        r.note = row.text("note");
        for (const char* extra : {"tube_drop_text", "choke_input_limits", "typical_outputs", "computed_output"}) {
            if (row.view(extra).empty()) continue;
            if (!r.note.empty()) r.note += "; ";
            r.note += row.view(extra);
        }
        // "40 uF: 100 mA no lamp; 60 mA lamp no shunt; 90 mA lamp with shunt"
        std::string_view rest = r.note;
        for (std::size_t at = rest.find(" mA"); at != std::string_view::npos; at = rest.find(" mA", at + 3)) {
            std::size_t begin = at;
            while (begin > 0 && (rest[begin - 1] == '.' || (rest[begin - 1] >= '0' && rest[begin - 1] <= '9'))) --begin;
            const std::string_view says = rest.substr(at, rest.substr(at).find(';'));
            const std::optional<double> amps = leading_number(rest.substr(begin));
            if (!amps || says.find("lamp") == std::string_view::npos) continue;
            if (says.find("no shunt") != std::string_view::npos)
                r.lamp_dc_amps = *amps * 1e-3;
            else if (says.find("shunt") != std::string_view::npos)
                r.shunted_lamp_dc_amps = *amps * 1e-3;
        }
        if (const std::size_t at = rest.find("needs >= "); at != std::string_view::npos) {
            r.start_volts = leading_number(rest.substr(at + 9));
            if (const std::size_t hold = rest.find("and >= ", at); hold != std::string_view::npos)
                if (const auto amps = leading_number(rest.substr(hold + 7))) r.hold_amps = *amps * 1e-3;
        }
        r.source = row.source();
        return r;
    });
}

std::vector<ConverterOscillator> converter_oscillators(const CsvTable& table) {
    return read<ConverterOscillator>(table, [](const Row& row) {
        ConverterOscillator c;
        c.type = row.text("type");
        c.plate_volts = row.number("plate_V");
        c.screen_volts = row.number("screen_V");
        c.anode_grid_volts = row.number("anode_grid_V");
        c.anode_grid_amps = row.number("anode_grid_mA", 1e-3);
        c.anode_grid_dropper_ohms = row.number("anode_grid_dropper_ohm");
        c.grid_leak_ohms = row.number("grid_leak_ohm");
        c.grid_amps = row.number("grid_mA", 1e-3);
        c.conversion_siemens = row.number("conversion_uS", 1e-6);
        c.cathode_amps = row.number("cathode_mA", 1e-3);
        c.source = row.source();
        return c;
    });
}

std::vector<Construction> constructions(const CsvTable& table) {
    return read<Construction>(table, [](const Row& row) {
        Construction c;
        c.key = row.text("key");
        c.kind = row.text("kind");
        c.action = row.text("action");
        c.reason = row.text("reason");
        c.test = row.text("test");
        c.base_rate = row.text("base_rate");
        c.mode_set = row.text("mode_set");
        c.median_years = row.number_or_zero("median_years");
        c.shape = row.number("shape").value_or(1);
        c.aged_megohm_microfarads = row.number("aged_megohm_uF");
        c.aged_spread = row.number("aged_spread");
        c.drift_median = row.number("drift_median");
        c.drift_high = row.number("drift_high");
        c.source = row.source();
        return c;
    });
}

std::vector<FailureMode> failure_modes(const CsvTable& table) {
    return read<FailureMode>(table, [](const Row& row) {
        return FailureMode{row.text("mode_set"), row.text("mode"), row.number_or_zero("alpha"), row.source()};
    });
}

std::vector<Rate> rates(const CsvTable& table) {
    return read<Rate>(table, [](const Row& row) {
        Rate r;
        r.key = row.text("key");
        r.model = row.text("model");
        r.base = row.number_or_zero("base");
        r.activation_ev = row.number_or_zero("activation_ev");
        r.value_exponent = row.number_or_zero("value_exponent");
        r.stress_knee = row.number_or_zero("stress_knee");
        r.stress_exponent = row.number_or_zero("stress_exponent");
        r.quality = row.number("quality").value_or(1);
        r.environment = row.number("environment").value_or(1);
        r.source = row.source();
        return r;
    });
}

std::vector<FuseRow> fuses(const CsvTable& table) {
    return read<FuseRow>(table, [](const Row& row) {
        return FuseRow{row.text("family"),      row.number_or_zero("amps"),  row.number("melting_i2t"),
                       row.number("cold_ohms"), row.number("breaking_amps"), row.source()};
    });
}

std::vector<LampRow> lamps(const CsvTable& table) {
    return read<LampRow>(table, [](const Row& row) {
        return LampRow{row.text("type"),
                       row.number_or_zero("volts"),
                       row.number_or_zero("amps"),
                       row.number("exponent").value_or(0.55),
                       row.text("use"),
                       row.source()};
    });
}

std::vector<StepCost> step_costs(const CsvTable& table) {
    return read<StepCost>(table, [](const Row& row) {
        return StepCost{row.text("key"), row.number_or_zero("minutes"), row.number_or_zero("cost"), row.text("tools"),
                        row.source()};
    });
}

std::vector<Caution> cautions(const CsvTable& table) {
    return read<Caution>(table, [](const Row& row) {
        return Caution{row.text("topic"), row.text("text"), row.source()};
    });
}

}  // namespace tubewright::tables
