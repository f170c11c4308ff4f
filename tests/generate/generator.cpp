// SPDX-License-Identifier: MIT
#include "generator.hpp"

#include <algorithm>
#include <cmath>
#include <sstream>
#include <stdexcept>

namespace generate {
namespace {

using tubewright::Catalogue;
using tubewright::TubeType;

std::string number(double x, int places = 3) {
    std::ostringstream out;
    out.imbue(std::locale::classic());
    out.precision(places);
    out << x;
    return out.str();
}

std::string ohms(double x) {
    if (x >= 1e6) return number(x / 1e6) + " meg";
    return x >= 1e4 ? number(x / 1e3) + "K" : number(x, 4);
}

/// The types of a family: what stands in its groups, and how the group is fed.
struct Kind {
    std::string_view family;
    const char *rectifier, *output, *triode, *pentode, *converter;
    int group;  ///< tubes of one supply
};
constexpr Kind kinds[] = {
    {"ac-transformer", "80", "42", "75", "78", "6A7", 12},
    {"back-bias", "5Y3GT", "6K6GT", "6SQ7", "6SK7", "6A8", 10},
    {"amplifier", "6X4", "EL84", "6SQ7", "", "", 4},
    {"trf", "80", "42", "76", "78", "", 10},
    {"series-string", "35Z5GT", "50L6GT", "12SQ7", "12SK7", "12SA7", 5},
    {"floating-b-minus", "25Z5", "43", "75", "6D6", "6A7", 5},
    {"doubler", "25Z6GT", "25A6", "6Q7", "6K7", "6A8", 5},
    {"portable", "", "3V4", "1U5", "1U4", "1R5", 4},
    {"vehicle", "0Z4", "6V6GT", "6SQ7", "6SK7", "6A8", 7},
};

class Maker {
  public:
    Maker(const Catalogue& catalogue, const Wanted& wanted)
        : catalogue_(catalogue), wanted_(wanted), dice_(wanted.seed * 0x9E3779B97F4A7C15ULL + 1) {
        for (const Kind& kind : kinds)
            if (kind.family == wanted.family) kind_ = &kind;
        if (!kind_) throw std::invalid_argument("no family is called " + wanted.family);
        if (wanted.tubes < std::min(kind_->group, 3)) throw std::invalid_argument("too few tubes for a supply");
    }

    std::string text() {
        string_ = kind_->family == "series-string" || kind_->family == "floating-b-minus" || kind_->family == "doubler";
        floats_ = kind_->family == "floating-b-minus" || kind_->family == "doubler" || kind_->family == "portable";
        home_ = string_ || kind_->family == "portable" ? "bminus" : "gnd";
        year_ = kind_->family == "amplifier"  ? 1956
                : kind_->family == "portable" ? 1949
                : kind_->family == "vehicle"  ? 1948
                                              : 1936 + static_cast<int>(dice_.below(5));
        body_ << "  <strip id=\"TS1\" lugs=\"4\" location=\"rear apron: antenna and ground terminals\"/>\n";
        body_ << "  <join at=\"antenna TS1.1\"/>\n  <join at=\"" << home_ << " TS1.4\"/>\n";
        int left = wanted_.tubes;
        while (left > 0) {
            // what is left over joins the last group rather than make one too small
            int here = std::min(left, kind_->group);
            if (string_ || kind_->family == "portable")
                here = std::min(left, kind_->group);
            else if (left - here > 0 && left - here < 3)
                here = left;
            group(here);
            left -= here;
        }
        return head() + body_.str() + "</chassis>\n";
    }

  private:
    std::string head() const {
        std::ostringstream out;
        const bool vehicle = kind_->family == "vehicle";
        out << "<!-- SPDX-License-Identifier: CC0-1.0 -->\n<!-- Generated: seed " << wanted_.seed << ", "
            << wanted_.tubes << " tubes, " << wanted_.family
            << ". Invented blocks, no maker, no model; not made to play. -->\n";
        out << "<chassis version=\"1\" name=\"Generated set of " << wanted_.tubes << " tubes\" built=\"" << year_
            << "\" reference=\"" << home_ << "\" paper=\"wax-paper\" wire=\"" << (year_ < 1946 ? "rubber" : "plastic")
            << "\" resistor=\"carbon-composition\" tolerance=\"20\">\n";
        if (!vehicle) {
            out << "  <line volts=\"117\" hertz=\"60\" hot=\"P1.1\" neutral=\"P1.2\"/>\n";
            out << "  <plug id=\"P1\" role=\"line\"/>\n  <cord id=\"W1\" construction=\"line-cord\" "
                   "seen=\"spliced\" note=\"twisted and taped\"/>\n";
            out << "  <switch id=\"S1\" a=\"P1.1\" b=\"live\" state=\"closed\" location=\"front apron\"/>\n";
        }
        if (floats_) {
            out << "  <node is=\"b-minus\" net=\"bminus\"/>\n  <node is=\"chassis-metal\" net=\"metal\" "
                   "touch=\"yes\"/>\n"
                << "  <capacitor id=\"C1\" value=\".1 mfd\" volts=\"400\" a=\"bminus\" b=\"metal\" location=\"TS1\"/>\n"
                << "  <resistor id=\"R1\" value=\"220K\" a=\"bminus\" b=\"metal\" location=\"TS1\"/>\n";
        } else {
            if (string_) out << "  <node is=\"b-minus\" net=\"" << home_ << "\"/>\n";
            out << "  <node is=\"chassis-metal\" net=\"" << home_ << "\" touch=\"yes\"/>\n";
        }
        if (string_ || kind_->family == "portable") out << "  <join at=\"P1.2 bminus\"/>\n";
        return out.str();
    }

    // ---- parts

    std::string id(char letter) {
        int& count = letter == 'C'   ? capacitors_
                     : letter == 'R' ? resistors_
                     : letter == 'V' ? sockets_
                     : letter == 'T' ? transformers_
                                     : coils_;
        return letter + std::to_string(++count);
    }
    /// A lug for every fifth part or so.
    std::string place() {
        if (lugs_ == 0) {
            ++strips_;
            body_ << "  <strip id=\"TS" << strips_ << "\" lugs=\"5\" location=\"under V" << std::max(1, sockets_)
                  << "\"/>\n";
        }
        lugs_ = (lugs_ + 1) % 5;
        return "TS" + std::to_string(strips_);
    }
    std::string age(bool resistor) {
        if (resistor) return dice_.chance(0.05) ? " seen=\"drifted\"" : "";
        if (dice_.chance(0.03))
            return " since=\"" + std::to_string(year_ + 8 + static_cast<int>(dice_.below(20))) + "\"" +
                   (std::exchange(repaired_, true) ? ""
                                                   : " note=\"a wrong repair: hung across the old one, which stayed\"");
        return dice_.chance(0.2) ? " seen=\"waxy\"" : "";
    }
    double scattered(double x) {
        const double wide = dice_.chance(0.2) ? 0.2 : 0.1;
        const double y = x * dice_.between(1 - wide, 1 + wide);
        // two figures, as they are printed
        const double unit = std::pow(10.0, std::floor(std::log10(y)) - 1);
        return std::round(y / unit) * unit;
    }
    std::string resistor(double value, const char* watts, const std::string& a, const std::string& b,
                         bool exact = false) {
        const std::string name = id('R'), where = place();
        body_ << "  <resistor id=\"" << name << "\" value=\"" << ohms(exact ? value : scattered(value)) << "\" watts=\""
              << watts << "\" a=\"" << a << "\" b=\"" << b << "\" location=\"" << where << "\"" << age(true) << "/>\n";
        return name;
    }
    void capacitor(const char* value, const char* volts, const std::string& a, const std::string& b) {
        const std::string name = id('C'), where = place();
        body_ << "  <capacitor id=\"" << name << "\" value=\"" << value << "\" volts=\"" << volts << "\" a=\"" << a
              << "\" b=\"" << b << "\" location=\"" << where << "\"" << age(false) << "/>\n";
    }
    void mica(const char* value, const std::string& a, const std::string& b) {
        const std::string name = id('C'), where = place();
        body_ << "  <capacitor id=\"" << name << "\" value=\"" << value << "\" volts=\"500\" construction=\"mica\" a=\""
              << a << "\" b=\"" << b << "\" location=\"" << where << "\"/>\n";
    }
    void electrolytic(const char* value, int volts, const std::string& plus, const std::string& minus) {
        const std::string name = id('C'), where = place();
        body_ << "  <capacitor id=\"" << name << "\" value=\"" << value << "\" volts=\"" << volts
              << "\" construction=\"dry-electrolytic\" plus=\"" << plus << "\" minus=\"" << minus << "\" location=\""
              << where << "\"" << (dice_.chance(0.1) ? " seen=\"dried\"" : "") << "/>\n";
    }
    /// Three sections in one can.
    void can(const std::vector<std::pair<std::string, std::string>>& sections, int volts, const std::string& minus,
             bool insulated) {
        static const char* const marks[] = {"half-moon", "square", "triangle"};
        const std::string name = id('C');
        body_ << "  <can id=\"" << name << "\" construction=\"dry-electrolytic\" minus=\"" << minus << "\" insulated=\""
              << (insulated || home_ == "bminus" ? "yes" : "no") << "\" location=\"" << name << " can\">\n";
        for (std::size_t i = 0; i < sections.size(); ++i)
            body_ << "    <section mark=\"" << marks[i] << "\" value=\"" << sections[i].first << "\" volts=\"" << volts
                  << "\" plus=\"" << sections[i].second << "\"/>\n";
        body_ << "  </can>\n";
    }
    void join(const std::string& names) { body_ << "  <join at=\"" << names << "\"/>\n"; }

    const TubeType& type(const char* name) const {
        const TubeType* found = catalogue_.tube(name);
        if (!found) throw std::invalid_argument(std::string("the catalogue has no tube ") + name);
        return *found;
    }
    /// "V3.2": the pin that carries the electrode; empty when there is none.
    static std::string pin(const std::string& socket, const TubeType& type, std::string_view electrode) {
        for (const tubewright::Pin& one : type.pins)
            for (const std::string& e : one.electrodes)
                if (e == electrode) return socket + "." + one.pin;
        return {};
    }
    /// Pins of an electrode that stands on several.
    static std::vector<std::string> pins(const std::string& socket, const TubeType& type, std::string_view electrode) {
        std::vector<std::string> found;
        for (const tubewright::Pin& one : type.pins)
            for (const std::string& e : one.electrodes)
                if (e == electrode) found.push_back(socket + "." + one.pin);
        return found;
    }
    std::string socket(const char* tube) {
        const std::string name = id('V');
        body_ << "  <socket id=\"" << name << "\" tube=\"" << tube << "\" location=\"row " << (sockets_ - 1) / 6 + 1
              << "\"/>\n";
        return name;
    }

    // ---- heaters

    /// Side by side on a winding or battery, or one more in the string.
    void heat(const std::string& v, const TubeType& t) {
        if (t.directly_heated && kind_->family == "portable") return filament(v, t);
        std::vector<std::string> ends = pins(v, t, "h");
        if (ends.size() < 2) return;
        if (string_) {
            string_pins_.push_back(ends);
            string_volts_ += t.heater_volts.value_or(0);
            string_amps_ = t.heater_amps.value_or(0.3);
        } else {
            join(heaters_ + " " + ends[0]);
            if (const std::string tap = pin(v, t, "hct"); !tap.empty()) {
                join(heaters_ + " " + ends[1]);
                join(home_ + " " + tap);
            } else {
                join(home_ + " " + ends[1]);
            }
        }
    }
    void filament(const std::string& v, const TubeType& t) {
        string_pins_.push_back({pin(v, t, "h+"), pin(v, t, "h-")});
    }
    std::string cathode_pin(const std::string& v, const TubeType& t) const {
        const std::string k = pin(v, t, "k");
        return k.empty() ? pin(v, t, "h-") : k;
    }

    // ---- stages

    void bypassed_cathode(const std::string& k, double ohms_there, bool electrolytic_one) {
        resistor(ohms_there, "1/2", k, home_);
        if (electrolytic_one)
            electrolytic("10 mfd", 25, k, home_);
        else
            capacitor(".1 mfd", "200", k, home_);
    }

    void pentode(const std::string& rail, const std::string& avc) {
        const TubeType& t = type(kind_->pentode);
        const std::string v = socket(kind_->pentode), p = pin(v, t, "p"), g = pin(v, t, "g1"), s = pin(v, t, "g2");
        heat(v, t);
        const bool filament_tube = t.directly_heated;
        if (!filament_tube) {
            const std::string k = pin(v, t, "k");
            bypassed_cathode(k, string_ || kind_->family == "vehicle" ? 150 : 350, false);
            if (const std::string g3 = pin(v, t, "g3"); !g3.empty() && g3 != k) join(k + " " + g3);
        }
        if (string_ && kind_->family == "series-string") {
            join(rail + " " + s);
        } else {
            resistor(filament_tube ? 33e3 : 70e3, "1/2", rail, s);
            capacitor(filament_tube ? ".05 mfd" : ".1 mfd", "400", s, home_);
        }
        const std::string tf = id('T');
        body_ << "  <transformer id=\"" << tf << "\" role=\"if\" khz=\"456\" location=\"IF can " << tf << "\">\n"
              << "    <winding role=\"rf\" name=\"plate\" leads=\"" << p << " " << rail << "\" ohms=\"11\"/>\n"
              << "    <winding role=\"rf\" name=\"grid\" leads=\"" << tf << "_out " << avc
              << "\" ohms=\"11\"/>\n  </transformer>\n";
        // the grid hangs on the coil of the stage before, or on a leak of its own
        if (signal_.empty()) {
            mica("100 mmf", "antenna", g);
            resistor(1e6, "1/4", g, avc);
        } else {
            join(signal_ + " " + g);
        }
        signal_ = tf + "_out";
    }

    void converter(const std::string& rail, const std::string& avc) {
        const TubeType& t = type(kind_->converter);
        const std::string v = socket(kind_->converter), p = pin(v, t, "p");
        const bool anode_grid = !pin(v, t, "g4").empty() && pin(v, t, "g2") != pin(v, t, "g4");
        heat(v, t);
        const std::string grid = pin(v, t, anode_grid ? "g4" : "g3"), oscillator = pin(v, t, "g1");
        const std::string screen = anode_grid ? pin(v, t, "g3") : pin(v, t, "g2");
        const std::string coil = id('T'), tank = coil + "_tank";
        const bool filament_tube = t.directly_heated;
        if (anode_grid) {
            const std::string k = pin(v, t, "k"), feed = coil + "_feed";
            bypassed_cathode(k, 300, false);
            resistor(string_ ? 2200 : 20e3, "1", rail, feed);
            capacitor(".05 mfd", "400", feed, home_);
            body_ << "  <transformer id=\"" << coil << "\" role=\"oscillator\" location=\"under " << v << "\">\n"
                  << "    <winding role=\"rf\" name=\"tank\" leads=\"" << tank << " " << home_ << "\" ohms=\"4.2\"/>\n"
                  << "    <winding role=\"rf\" name=\"tickler\" leads=\"" << feed << " " << pin(v, t, "g2")
                  << "\" ohms=\"1.4\"/>\n"
                  << "  </transformer>\n";
            mica("50 mmf", tank, oscillator);
        } else if (!filament_tube) {
            // the cathode stands on the tap of the coil
            body_ << "  <transformer id=\"" << coil << "\" role=\"oscillator\" location=\"under " << v << "\">\n"
                  << "    <winding role=\"rf\" name=\"tank\" leads=\"" << tank << " " << pin(v, t, "k") << " " << home_
                  << "\" ohms=\"3 .4\"/>\n  </transformer>\n";
            mica("50 mmf", tank, oscillator);
        } else {
            body_ << "  <transformer id=\"" << coil << "\" role=\"oscillator\" location=\"under " << v << "\">\n"
                  << "    <winding role=\"rf\" name=\"tank\" leads=\"" << tank << " " << home_ << "\" ohms=\"4\"/>\n"
                  << "    <winding role=\"rf\" name=\"tickler\" leads=\"" << rail << " " << screen
                  << "\" ohms=\"1.4\"/>\n  </transformer>\n";
            mica("100 mmf", tank, oscillator);
        }
        resistor(filament_tube ? 100e3
                 : string_     ? 22e3
                               : 50e3,
                 "1/4", oscillator, anode_grid || filament_tube ? home_ : pin(v, t, "k"));
        if (anode_grid) {
            resistor(kind_->family == "doubler" ? 33e3 : string_ ? 10e3 : 50e3, "1", rail, screen);
            capacitor(".1 mfd", "400", screen, home_);
        } else if (!filament_tube) {
            join(rail + " " + screen);
        }
        const std::string shell = pin(v, t, "g5");
        if (!filament_tube && !anode_grid && !shell.empty() && shell != screen) join(home_ + " " + shell);
        const std::string tuned = id('T');
        body_ << "  <transformer id=\"" << tuned << "\" role=\"rf\" location=\"antenna coil " << tuned << "\">\n"
              << "    <winding role=\"rf\" name=\"antenna\" leads=\"antenna " << home_ << "\" ohms=\"22\"/>\n"
              << "    <winding role=\"rf\" name=\"grid\" leads=\"" << grid << " " << avc
              << "\" ohms=\"3.6\"/>\n  </transformer>\n";
        const std::string gang = id('C'), second = id('C');
        body_ << "  <capacitor id=\"" << gang << "\" value=\"365 mmf\" construction=\"air-variable\" a=\"" << grid
              << "\" b=\"" << home_ << "\" location=\"gang " << tuned << "\"/>\n  <capacitor id=\"" << second
              << "\" value=\"365 mmf\" construction=\"air-variable\" a=\"" << tank << "\" b=\"" << home_
              << "\" location=\"gang " << tuned << "\"/>\n";
        const std::string tf = id('T');
        body_ << "  <transformer id=\"" << tf << "\" role=\"if\" khz=\"456\" location=\"IF can " << tf << "\">\n"
              << "    <winding role=\"rf\" name=\"plate\" leads=\"" << p << " " << rail << "\" ohms=\"11\"/>\n"
              << "    <winding role=\"rf\" name=\"grid\" leads=\"" << tf << "_out " << avc
              << "\" ohms=\"11\"/>\n  </transformer>\n";
        signal_ = tf + "_out";
    }

    /// First audio: fed by the signal that is there, or from a terminal; leaves its plate as the audio.
    void triode(const std::string& rail) {
        const TubeType& t = type(kind_->triode);
        const std::string v = socket(kind_->triode), p = pin(v, t, "p"), g = pin(v, t, "g1");
        heat(v, t);
        const bool filament_tube = t.directly_heated;
        const std::string k = cathode_pin(v, t);
        resistor(filament_tube ? 1e6 : 250e3, "1/2", rail, p);
        if (filament_tube) {
            resistor(3.3e6, "1/4", rail, pin(v, t, "g2"));
            capacitor(".05 mfd", "200", pin(v, t, "g2"), home_);
            resistor(10e6, "1/4", g, home_);
        } else if (string_ && kind_->family == "series-string") {
            join(home_ + " " + k);
            resistor(10e6, "1/4", g, home_);
        } else {
            bypassed_cathode(k, kind_->family == "trf" ? 2700 : 4000, true);
            resistor(1e6, "1/4", g, home_);
        }
        std::vector<std::string> diodes = pins(v, t, "d");
        if (diodes.empty()) diodes = pins(v, t, "d1");
        const std::string diode_home = filament_tube ? home_ : k;
        if (!signal_.empty() && !diodes.empty()) {
            // detector: the coil's end to a diode, its load to the cathode, the volume control
            join(signal_ + " " + diodes.front());
            const std::string control = id('R');
            body_ << "  <control id=\"" << control << "\" role=\"volume\" value=\"" << ohms(500e3) << "\" a=\""
                  << avc_now_ << "\" b=\"" << diode_home << "\" wiper=\"" << control
                  << "_w\" construction=\"carbon-control\" location=\"front apron\"/>\n";
            mica("100 mmf", avc_now_, diode_home);
            capacitor(".01 mfd", "400", control + "_w", g);
            for (std::size_t i = 1; i < diodes.size(); ++i) join(diode_home + " " + diodes[i]);
            signal_.clear();
            ++avc_;
        } else if (!signal_.empty()) {
            // no diode: the grid detects, by a leak of its own
            mica("250 mmf", signal_, g);
            if (!audio_.empty()) capacitor(".01 mfd", "400", audio_, g);  // what an earlier detector gave comes along
            signal_.clear();
        } else {
            for (const std::string& diode : diodes) join(diode_home + " " + diode);
            capacitor(".01 mfd", "400", audio_.empty() ? std::string("antenna") : audio_, g);
        }
        audio_ = p;
    }

    void output(const std::string& plate_rail, const std::string& screen_rail, const std::string& bias) {
        const TubeType& t = type(kind_->output);
        const std::string v = socket(kind_->output), p = pin(v, t, "p"), g = pin(v, t, "g1"), s = pin(v, t, "g2");
        heat(v, t);
        join(screen_rail + " " + s);
        if (t.directly_heated) {
            resistor(2.2e6, "1/4", g, bias.empty() ? home_ : bias);
        } else if (bias.empty()) {
            const std::string k = pin(v, t, "k");
            const double volts_there = kind_->family == "series-string" ? 150
                                       : kind_->family == "vehicle"     ? 300
                                       : kind_->family == "amplifier"   ? 135
                                       : string_                        ? 500
                                                                        : 430;
            resistor(volts_there, "2", k, home_);
            electrolytic("25 mfd", 25, k, home_);
            resistor(470e3, "1/2", g, home_);
        } else {
            join(home_ + " " + pin(v, t, "k"));
            resistor(470e3, "1/2", g, bias);
        }
        capacitor(dice_.chance(0.5) ? ".01 mfd" : ".02 mfd", "600", audio_.empty() ? std::string("antenna") : audio_,
                  g);
        capacitor(".005 mfd", "600", p, home_);
        const std::string tf = id('T');
        body_ << "  <transformer id=\"" << tf << "\" role=\"output\" location=\"on speaker " << tf << "\">\n"
              << "    <winding role=\"output-primary\" leads=\"" << p << " " << plate_rail << "\" ohms=\""
              << number(scattered(300), 3) << "\" impedance=\"5k\"/>\n    <winding role=\"output-secondary\" leads=\""
              << tf << "_voice " << home_ << "\" ohms=\".4\"/>\n  </transformer>\n  <speaker id=\"LS" << tf.substr(1)
              << "\" ohms=\"3.2\" a=\"" << tf << "_voice\" b=\"" << home_ << "\"/>\n";
        audio_.clear();
        signal_.clear();
    }

    // ---- supplies

    void group(int tubes) {
        ++groups_;
        const std::string n = std::to_string(groups_);
        heaters_ = "heaters" + n;
        string_pins_.clear();
        string_volts_ = 0;
        signal_.clear();
        audio_.clear();
        const std::string first = "first" + n, plus = "bplus" + n, rf = "rail" + n + "a", af = "rail" + n + "b";
        std::string bias;
        int left = tubes - 1;  // the rectifier, or the dry one which is no tube
        const std::string_view family = kind_->family;
        if (family == "portable") ++left;
        double heater_amps = 0;
        // stages: one output tube, audio before it, the rest radio
        std::vector<int> stages;  // 0 triode, 1 pentode, 2 converter
        for (int i = 0; i < left - 1; ++i) {
            const bool radio = *kind_->pentode != 0;
            if (i == left - 2)
                stages.push_back(0);
            else if (!radio)
                stages.push_back(0);
            else if (i == 0 && *kind_->converter != 0)
                stages.push_back(2);
            else
                stages.push_back(i % 3 == 2 && !string_ && left > 5 ? 0 : 1);
        }
        for (const int stage : stages)
            heater_amps += type(stage == 0   ? kind_->triode
                                : stage == 1 ? kind_->pentode
                                             : kind_->converter)
                               .heater_amps.value_or(0);
        heater_amps += type(kind_->output).heater_amps.value_or(0);

        if (family == "series-string" || family == "floating-b-minus") {
            line_supply(n, first, plus);
        } else if (family == "doubler") {
            doubler_supply(n, first, plus);
        } else if (family == "portable") {
            portable_supply(n, first, plus);
        } else if (family == "vehicle") {
            vehicle_supply(n, first, plus);
        } else {
            transformer_supply(n, first, plus, heater_amps, tubes, bias);
        }
        const bool low = string_ || family == "portable";
        if (low) {
            // a rail that nothing stands on is not named
            const auto any = [&](auto wanted) { return std::any_of(stages.begin(), stages.end(), wanted); };
            if (any([](int stage) { return stage != 0; })) join(plus + " " + rf);
            if (any([](int stage) { return stage == 0; })) join(plus + " " + af);
        } else {
            resistor(dice_.of(std::vector<double>{1000, 1500, 2200}), "2", plus, rf, true);
            resistor(dice_.of(std::vector<double>{2200, 3300, 4700}), "1", plus, af, true);
            can({{"8 mfd", rf}, {"10 mfd", af}}, 450, home_, false);
        }
        avc_now_ = "avc" + std::to_string(avc_);
        resistor(1e6, "1/4", avc_now_, home_);
        capacitor(".05 mfd", "200", avc_now_, home_);
        for (const int stage : stages) {
            if (stage == 0) {
                triode(af);
                const std::string next = "avc" + std::to_string(avc_);
                if (next != avc_now_ && &stage != &stages.back()) {
                    avc_now_ = next;
                    resistor(1e6, "1/4", avc_now_, home_);
                    capacitor(".05 mfd", "200", avc_now_, home_);
                }
            } else if (stage == 1) {
                pentode(rf, avc_now_);
            } else {
                converter(rf, avc_now_);
            }
        }
        const bool from_first = family == "series-string" || family == "vehicle";
        output(from_first ? first : plus, plus, bias);
        finish_string(n);
    }

    void transformer_supply(const std::string& n, const std::string& first, const std::string& plus, double heater_amps,
                            int tubes, std::string& bias) {
        const TubeType& t = type(kind_->rectifier);
        const std::string v = socket(kind_->rectifier), tf = id('T');
        const bool back = kind_->family == "back-bias", direct = t.directly_heated;
        const std::string tap = back ? "tap" + n : home_;
        std::vector<std::string> plates = pins(v, t, "p"), filament = pins(v, t, "h");
        if (plates.size() < 2) plates = {pin(v, t, "p1"), pin(v, t, "p2")};
        if (!direct) heater_amps += t.heater_amps.value_or(0);
        const double drawn = 0.045 + 0.006 * tubes, side = kind_->family == "amplifier" ? 260 : back ? 310 : 300;
        const double va = std::round(1.2 * (6.3 * heater_amps + (direct ? 10 : 0) + side * 1.15 * drawn));
        const double primary = 0.035 * 117 * 117 / va, half = 0.045 * side / (1.15 * drawn);
        body_ << "  <transformer id=\"" << tf << "\" role=\"power\" va=\"" << number(va, 4)
              << "\" location=\"rear, supply " << n << "\">\n"
              << "    <winding role=\"primary\" leads=\"live P1.2\" volts=\"117\" ohms=\"" << number(primary)
              << "\"/>\n"
              << "    <winding role=\"plate\" leads=\"" << plates[0] << " " << tap << " " << plates[1]
              << "\" noload-volts=\"" << number(side) << " " << number(side) << "\" ohms=\"" << number(half) << " "
              << number(half * dice_.between(1.02, 1.2)) << "\"/>\n";
        if (direct)
            body_ << "    <winding role=\"rectifier-heater\" leads=\"" << filament[0] << " " << filament[1]
                  << "\" volts=\"5\" amps=\"2\"/>\n";
        body_ << "    <winding role=\"heater\" leads=\"" << heaters_ << " " << home_ << "\" volts=\"6.3\" amps=\""
              << number(heater_amps * 1.1) << "\"/>\n  </transformer>\n";
        if (direct) {
            join(first + " " + filament[back ? 1 : 0]);
        } else {
            heat(v, t);
            join(first + " " + pin(v, t, "k"));
        }
        if (back) {
            // the field lies in the minus; a divider from the centre tap makes the bias
            join(first + " " + plus);
            electrolytic("16 mfd", 450, plus, tap);
            electrolytic("16 mfd", 450, plus, home_);
            const std::string field = id('L');
            body_ << "  <coil id=\"" << field << "\" role=\"field\" henries=\"10\" ohms=\""
                  << number(std::round(65 / drawn)) << "\" a=\"" << home_ << "\" b=\"" << tap
                  << "\" location=\"on speaker " << n << "\"/>\n";
            bias = "bias" + n;
            resistor(220e3, "1/2", tap, bias, true);
            resistor(82e3, "1/2", bias, home_, true);
            capacitor(".25 mfd", "200", bias, home_);
            return;
        }
        const double least = kind_->family == "amplifier" ? 350 : 450;
        can({{kind_->family == "amplifier" ? "16 mfd" : "8 mfd", first}, {"16 mfd", plus}}, static_cast<int>(least),
            home_, false);
        if (kind_->family == "amplifier") {
            resistor(1000, "5", first, plus, true);
        } else {
            const std::string choke = id('L');
            body_ << "  <coil id=\"" << choke << "\" role=\"choke\" henries=\"10\" ohms=\""
                  << number(std::round(30 / drawn)) << "\" a=\"" << first << "\" b=\"" << plus
                  << "\" location=\"rear, supply " << n << "\"/>\n";
        }
    }

    /// A rectifier on the line itself; the string is closed when all its heaters are known.
    void line_supply(const std::string& n, const std::string& first, const std::string& plus) {
        const TubeType& t = type(kind_->rectifier);
        const std::string v = socket(kind_->rectifier);
        if (kind_->family == "series-string") {
            const std::vector<std::string> ends = pins(v, t, "h");
            const std::string tap = pin(v, t, "htap");
            join("live " + ends[0]);
            join(tap + " " + pin(v, t, "p"));
            body_ << "  <lamp id=\"DS" << n << "\" type=\"47\" a=\"" << ends[0] << "\" b=\"" << tap
                  << "\" location=\"dial\"/>\n";
            string_end_ = ends[1];
            string_volts_ += t.heater_volts.value_or(0);
            join(first + " " + pin(v, t, "k"));
            can({{"50 mfd", first}, {"30 mfd", plus}}, 150, home_, false);
            resistor(1000, "1", first, plus, true);
            return;
        }
        heat(v, t);
        join("live " + pin(v, t, "p1"));
        join("live " + pin(v, t, "p2"));
        join(first + " " + pin(v, t, "k1"));
        can({{"16 mfd", first}, {"16 mfd", plus}}, 150, home_, true);
        const std::string choke = id('L'), field = id('L');
        body_ << "  <coil id=\"" << choke << "\" role=\"choke\" henries=\"10\" ohms=\"400\" a=\"" << first << "\" b=\""
              << plus << "\" location=\"rear\"/>\n  <coil id=\"" << field
              << "\" role=\"field\" henries=\"20\" ohms=\"3000\" a=\"" << pin(v, t, "k2") << "\" b=\"" << home_
              << "\" location=\"on the speaker\"/>\n";
        electrolytic("8 mfd", 150, pin(v, t, "k2"), home_);
    }

    void doubler_supply(const std::string& n, const std::string& first, const std::string& plus) {
        const TubeType& t = type(kind_->rectifier);
        const std::string v = socket(kind_->rectifier), surge = "surge" + n, middle = "middle" + n;
        heat(v, t);
        resistor(30, "2", "live", surge, true);
        electrolytic("20 mfd", 200, middle, surge);
        join(middle + " " + pin(v, t, "k1") + " " + pin(v, t, "p2"));
        join(home_ + " " + pin(v, t, "p1"));
        join(first + " " + pin(v, t, "k2"));
        can({{"20 mfd", first}, {"20 mfd", plus}}, 350, home_, true);
        const std::string choke = id('L');
        body_ << "  <coil id=\"" << choke << "\" role=\"choke\" henries=\"10\" ohms=\"350\" a=\"" << first << "\" b=\""
              << plus << "\" location=\"rear\"/>\n";
    }

    void portable_supply(const std::string& n, const std::string& first, const std::string& plus) {
        body_ << "  <rectifier id=\"CR" << n
              << "\" construction=\"selenium\" volts=\"130\" amps=\".075\" anode=\"live\" cathode=\"dry" << n
              << "\" location=\"rear\"/>\n";
        resistor(33, "1", "dry" + n, first, true);
        can({{"40 mfd", first}, {"20 mfd", plus}}, 150, home_, false);
        resistor(2700, "1", first, plus, true);
        string_start_ = "string" + n;
        resistor(2600, "10", first, string_start_, true);
        electrolytic("100 mfd", 25, string_start_, home_);
    }

    void vehicle_supply(const std::string& n, const std::string& first, const std::string& plus) {
        const TubeType& t = type(kind_->rectifier);
        const std::string v = socket(kind_->rectifier), tf = id('T'), hash = "hash" + n;
        heaters_ = "a";
        if (groups_ == 1)
            body_ << "  <battery id=\"BT1\" role=\"vehicle\" volts=\"6.3\" plus=\"feed\" minus=\"gnd\"/>\n"
                  << "  <fuse id=\"F1\" amps=\"20\" a=\"feed\" b=\"fused\"/>\n  <switch id=\"S1\" role=\"line\" "
                     "a=\"fused\" b=\"a\" state=\"closed\"/>\n";
        const std::string choke = id('L');
        body_ << "  <coil id=\"" << choke << "\" role=\"rf\" ohms=\".02\" a=\"a\" b=\"" << hash
              << "\" location=\"A line\"/>\n";
        capacitor(".5 mfd", "100", hash, home_);
        const std::vector<std::string> plates = pins(v, t, "p");
        body_ << "  <vibrator id=\"Y" << n << "\" role=\"nonsynchronous\" hertz=\"115\" duty=\".85\" reed=\"" << home_
              << "\" contacts=\"" << tf << ".1 " << tf << ".3\" location=\"rear\"/>\n  <transformer id=\"" << tf
              << "\" role=\"vibrator\" location=\"rear\">\n"
              << "    <winding role=\"primary\" leads=\"" << tf << ".1 " << hash << " " << tf
              << ".3\" ohms=\".12 .12\"/>\n"
              << "    <winding role=\"plate\" leads=\"" << plates[0] << " " << home_ << " " << plates[1]
              << "\" volts=\"270\" noload-volts=\"300 300\" ohms=\"220 240\"/>\n  </transformer>\n";
        const std::string buffer = id('C');
        body_ << "  <capacitor id=\"" << buffer
              << "\" value=\".0075 mfd\" volts=\"1600\" construction=\"buffer-paper\" a=\"" << plates[0] << "\" b=\""
              << plates[1] << "\" location=\"rear\"/>\n";
        join(home_ + " " + pin(v, t, "shell"));
        join(first + " " + pin(v, t, "k"));
        can({{"20 mfd", first}, {"20 mfd", plus}}, 400, home_, false);
        resistor(1000, "2", first, plus, true);
    }

    /// The heaters in their order, the rectifier nearest to the line, what is left over in a cord or ballast.
    void finish_string(const std::string& n) {
        if (string_pins_.empty()) return;
        if (kind_->family == "portable") {
            // from the top of the string: the output tube, then the rest down to B-minus
            std::string above = string_start_;
            for (std::size_t i = string_pins_.size(); i-- > 0;) {
                join(above + " " + string_pins_[i][0]);
                above = string_pins_[i][1];
            }
            join(above + " " + home_);
            return;
        }
        std::string above = string_end_;
        const double left = 117 - string_volts_;
        const std::string dropper = number(std::round(left / string_amps_)),
                          watts = number(std::ceil(left * string_amps_));
        if (above.empty()) {
            above = "string" + n;
            const bool cord = kind_->family == "floating-b-minus";
            if (cord)
                body_ << "  <cord id=\"W" << 100 + groups_ << "\" construction=\"resistance-cord\" from=\"live\" to=\""
                      << above << "\" ohms=\"" << dropper << "\" watts=\"" << watts << "\"/>\n";
            else
                body_ << "  <ballast id=\"R" << 900 + groups_ << "\" value=\"" << dropper << "\" watts=\"" << watts
                      << "\" a=\"live\" b=\"" << above << "\" location=\"rear\"/>\n";
        } else if (left > 12) {
            // a short string: what is left drops behind the rectifier
            const std::string below = "string" + n;
            body_ << "  <ballast id=\"R" << 900 + groups_ << "\" value=\"" << dropper << "\" watts=\"" << watts
                  << "\" a=\"" << above << "\" b=\"" << below << "\" location=\"rear\"/>\n";
            above = below;
        }
        string_end_.clear();
        for (const std::vector<std::string>& ends : string_pins_) {
            join(above + " " + ends[0]);
            above = ends[1];
        }
        join(above + " " + home_);
    }

    const Catalogue& catalogue_;
    const Wanted& wanted_;
    Dice dice_;
    const Kind* kind_ = nullptr;
    std::ostringstream body_;
    bool string_ = false, floats_ = false;
    std::string home_, heaters_, signal_, audio_, avc_now_, string_end_, string_start_;
    std::vector<std::vector<std::string>> string_pins_;
    double string_volts_ = 0, string_amps_ = 0.3;
    int year_ = 1936, groups_ = 0, avc_ = 1;
    bool repaired_ = false;
    int capacitors_ = 1, resistors_ = 1, sockets_ = 0, transformers_ = 0, coils_ = 0, strips_ = 1, lugs_ = 0;
};

}  // namespace

std::uint64_t Dice::next() {
    state_ += 0x9E3779B97F4A7C15ULL;
    std::uint64_t z = state_;
    z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9ULL;
    z = (z ^ (z >> 27)) * 0x94D049BB133111EBULL;
    return z ^ (z >> 31);
}

const std::vector<std::string_view>& families() {
    static const std::vector<std::string_view> all = [] {
        std::vector<std::string_view> names;
        for (const Kind& kind : kinds) names.push_back(kind.family);
        return names;
    }();
    return all;
}

std::string chassis_text(const Catalogue& catalogue, const Wanted& wanted) {
    return Maker(catalogue, wanted).text();
}

}  // namespace generate
