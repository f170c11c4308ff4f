// SPDX-License-Identifier: MIT
// The rules of the bench as data. H: never broken. s: breaking it costs time or money, no more. All are common practice
// without a source; the reasons are why a bench keeps them. violations() in violations.cpp applies them. Test:
// tests/rules/rules_test.cpp.
#include <tubewright/rules.hpp>

namespace tubewright {

const std::vector<BenchRule>& bench_rules() {
    static const std::vector<BenchRule> rules = [] {
        const Source practice{Provenance::practice, "common practice, no source"};
        std::vector<BenchRule> r = {
            {"H0", true, "label, voltage selector, taps and links agree with the supply: volts, cycles, kind, polarity",
             "anything else", "a set on the wrong supply is lost in the first second", practice},
            {"H1", true, "the set is not plugged in as found: its cord is cut, tied up or tagged", "everything",
             "a shorted filter takes the transformer along before anyone has looked", practice},
            {"H2", true, "photographs and a sketch of every connection", "the first joint is unsoldered",
             "grounding points, lead dress and earlier repairs cannot be recovered afterwards", practice},
            {"H3", true, "family and reference node are settled, hot or isolated known by topology",
             "a meter, a generator or an earth is clipped on",
             "on a hot chassis the clip is a line wire; on a back-bias set the chassis is not the minus", practice},
            {"s4", false, "cold ohms of the transformer, choke or field, output transformer and coils",
             "parts are bought", "an open winding changes what the set is worth", practice},
            {"H5", true,
             "cord, plug, switch, fuse and the leads of the line, the heaters, the dial lamps and the plate windings "
             "are sound, a set built without a fuse has one, and every capacitor on the line or primary is new or "
             "lifted",
             "the line reaches the transformer",
             "cracked rubber and old line capacitors are fire and shock ahead of every fuse", practice},
            {"H6", true,
             "the transformer has run alone for half an hour, watched: rectifier out, every capacitor across a plate "
             "winding lifted or new",
             "the rectifier goes back",
             "a transformer with a shorted turn shows itself while nothing else can be blamed", practice},
            {"H7", true,
             "filters, papers that can load the supply or lift a power grid, and a buffer (exact value, rated for it) "
             "are new, proved or left out on "
             "purpose",
             "the rectifier or vibrator goes back", "their short is what burns transformers", practice},
            {"H8", true, "the output coupler is new or proved", "the output tube goes back",
             "its leak drives the grid positive: tube, output transformer and power transformer run over", practice},
            {"H9", true,
             "cathode, bias and back-bias resistors are measured, and the electrolytic of a fixed bias is new or "
             "proved",
             "the output tube goes back", "without its bias an output tube glows red in seconds", practice},
            {"s10", false, "one end is free, or the leaky neighbours are lifted or new", "a resistor is judged",
             "a leak beside it reads as a low resistor", practice},
            {"H11", true, "speaker and field are plugged; the plug is never moved with the line on", "B-plus",
             "an open field leaves the first filter at the peak; an unloaded output transformer flashes over",
             practice},
            {"H12", true, "every tube is in, and the dial lamp that shunts a tapped heater",
             "a series string is powered",
             "a string with a gap puts the line across the gap; without its lamp the tap burns out", practice},
            {"H13", true, "working volts are right and written down", "alignment",
             "alignment hides faults that volts show", practice},
            {"s14", false, "soak", "reassembly", "silver mica and heat faults show after minutes to hours", practice},
            {"H15", true, "touch current in three steps, switch on and off, both ways of the plug", "hand-back",
             "whoever owns it will touch it", practice},
            {"s16", false, "one part or one small group at a time, checked and written down", "the next group",
             "an error among six joints is found, among sixty it is not", practice},
            {"H17", true,
             "nothing lifted or removed is left out, but what the stage wants out or what is left out on purpose with "
             "a reason",
             "power", "the commonest mistake of a full bench: a forgotten end", practice},
            {"H18", true, "what burnt a resistor is found and stands on the list", "the burnt resistor is replaced",
             "the new one burns as the old one did", practice},
            {"H19", true,
             "plug out and discharged: ohms of each B-plus section to B-minus and chassis, each heater winding to "
             "chassis, each grid to its return, "
             "inside the solved band",
             "the rectifier goes back", "under half of the solved ohms something is shorted still", practice},
            {"H20", true, "rectifier and output tube are shown free of shorts, cold and tapped", "they go back",
             "a shorted rectifier is a shorted plate winding", practice},
            {"H21", true, "output primary (each half) and field or choke have continuity through the plugged speaker",
             "the rectifier goes back",
             "an open primary leaves the screen to take the current; an open field the first filter to take the peak",
             practice},
            {"H22", true,
             "no earth wire and no earthed instrument on a chassis that the topology joins to the line in any position "
             "of plug or switch or through any "
             "single failed part; a three-wire cord only on an isolated set whose line-to-chassis capacitors are gone "
             "or class Y",
             "always", "the earth becomes the other side of the line", practice},
            {"H23", true, "plus of every electrolytic is traced by eye to its lug against the printed list",
             "the rectifier goes back", "one that is reversed bursts", practice},
        };
        return r;
    }();
    return rules;
}

const char* word(ActKind kind) {
    switch (kind) {
        case ActKind::check_supply:
            return "check label and supply";
        case ActKind::make_cord_safe:
            return "make the cord safe";
        case ActKind::photograph:
            return "photograph and sketch";
        case ActKind::settle_reference:
            return "settle the reference node";
        case ActKind::clip_instrument:
            return "clip an instrument on";
        case ActKind::cold_ohms:
            return "cold ohms";
        case ActKind::inspect:
            return "inspect";
        case ActKind::measure:
            return "measure";
        case ActKind::lift:
            return "lift";
        case ActKind::remove:
            return "remove";
        case ActKind::fit:
            return "fit";
        case ActKind::reconnect:
            return "connect again";
        case ActKind::refit_tube:
            return "put the tube back";
        case ActKind::plug_speaker:
            return "plug the speaker";
        case ActKind::power_transformer_alone:
            return "power: transformer alone";
        case ActKind::power_heaters:
            return "power: heaters";
        case ActKind::power_b_plus:
            return "power: B-plus behind the lamp";
        case ActKind::power_full_line:
            return "power: full line";
        case ActKind::soak:
            return "soak";
        case ActKind::check_touch_current:
            return "touch current";
        case ActKind::discharge:
            return "discharge";
        case ActKind::align:
            return "align";
        case ActKind::reassemble:
            return "reassemble";
        case ActKind::hand_back:
            return "hand back";
        case ActKind::buy:
            return "buy";
        case ActKind::earth_instrument:
            return "clip an earth on";
        case ActKind::power_supply_alone:
            return "power: supply alone";
        case ActKind::log_volts:
            return "write the volts down";
        case ActKind::find_cause:
            return "find the cause";
        case ActKind::test_tube:
            return "test the tube";
        case ActKind::trace_polarity:
            return "trace the plus";
        case ActKind::fit_earthed_cord:
            return "fit a three-wire cord";
        case ActKind::sleeve:
            return "sleeve leads and sockets";
        case ActKind::fit_fuse:
            return "fit a fuse";
        case ActKind::lift_earth:
            return "take the earth off";
        case ActKind::leave_out:
            return "leave out on purpose";
    }
    return "";
}

std::optional<ActKind> act_of(std::string_view name) {
    for (int k = 0; k <= static_cast<int>(ActKind::leave_out); ++k)
        if (word(static_cast<ActKind>(k)) == name) return static_cast<ActKind>(k);
    return std::nullopt;
}

}  // namespace tubewright
