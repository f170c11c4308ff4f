// SPDX-License-Identifier: MIT
// The stages of a bring-up, one function a kind; power_up.cpp calls those that the family needs in its order. Each puts
// its card on the sheet: gate, what is in and out, readings, notice, cautions, what to do at a stop, and the acts that
// the checker of the rules judges. A function that solves returns false where there is no solution; failure() says why.
//
//     Stages stages(set, trials, lamps, fuse, sheet);
//     stages.label(); stages.eyes(); stages.cold_ohms(true);
//     if (!stages.behind_lamp() || !stages.full_line()) return stages.failure();
//
// Tests: tests/order/power_up_test.cpp, tests/whole/power_up_test.cpp.
#pragma once

#include <string>
#include <vector>

#include <tubewright/order.hpp>

#include "order/gates.hpp"
#include "order/lamp_run.hpp"
#include "order/stage_readings.hpp"

namespace tubewright::power_up {

class Stages {
  public:
    Stages(const SetOnBench& set, Trials& trials, Lamps lamps, std::string fuse, PowerUp& sheet);

    void label();
    void eyes();
    /// tubes_in: a string is read whole.
    void cold_ohms(bool tubes_in);
    void reform();

    // of the line: stages_line.cpp
    bool transformer_alone();
    bool heaters();
    bool behind_lamp();
    bool full_line();
    void soak();
    void touch_current();

    // of batteries: stages_battery.cpp
    bool vehicle_heaters();
    bool vehicle_supply();
    bool a_battery();
    bool b_battery();

    void hand_back();
    void in_their_order() const { gates_.in_their_order(sheet_.stages); }
    const std::vector<Notice>& failure() const { return failure_.empty() ? trials_.failure() : failure_; }

  private:
    PowerStage& stage(const std::string& title, double minutes);
    /// Line, lamp, cautions of a stage under power, what to do at its stop.
    void live(PowerStage& s, double line, double lamp, bool of_line = true) const;
    void polarity_of_supply(PowerStage& s) const;
    std::string polarity(const Part& p) const;
    std::string straight() const;
    std::string lamp_words(double lamp) const;
    std::vector<std::string> tubes_and_lamps() const;
    std::string fuse_lacks() const;
    struct VoltsLack {
        std::string words, past_stop;  ///< all that lacks or is not right; of it what stands past its STOP
        std::string wrong_at;          ///< the first place that reads wrong; empty: nothing does
    };
    VoltsLack working_volts_lack() const;
    const Reading* logged_reading(const StageReading& row) const;
    void output_tube_out(PowerStage& s, double lamp) const;
    void string_behind(PowerStage& s, const Around& a, bool first) const;
    void battery_readings(PowerStage& s, const StageReadings& readings, const Around& a) const;
    std::vector<Need> supply_needs() const;
    /// The set in another state, and what it does there; nothing: failure() says why.
    std::optional<Bench> bench_of(const Chassis& other);
    template <class Found>
    std::optional<Found> or_failure(const Trials& trials, std::optional<Found> found);
    void old_ratings();
    std::string ground_lugs() const;
    double resistor_for_touch(PowerStage& s, double ohms, double siemens) const;
    std::string fuse_words() const;

    const SetOnBench& set_;
    Trials& trials_;
    Gates gates_;
    StageReadings readings_;
    Lamps lamps_;
    std::string fuse_;
    PowerUp& sheet_;
    Solution normal_;
    std::optional<Around> full_;
    std::vector<Notice> failure_;
};

}  // namespace tubewright::power_up
