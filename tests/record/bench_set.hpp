// SPDX-License-Identifier: MIT
// A few parts of an output stage, and a folder for its log.
#pragma once

#include <catch2/catch.hpp>
#include <filesystem>
#include <random>
#include <string>

#include <tubewright/record.hpp>

namespace bench_set {

using namespace tubewright;

inline const Catalogue& catalogue() {
    static const Catalogue shipped = Catalogue::shipped();
    return shipped;
}

/// coupler: what the capacitor from plate to grid is called.
inline Chassis make(const std::string& coupler = "C9") {
    ChassisBuilder b("output stage");
    b.default_for("paper", "wax-paper");
    b.reference("gnd");
    b.node("chassis-metal", "gnd", true);
    b.socket("V3", "75");
    b.socket("V4", "42");
    b.capacitor(coupler, farads(.02e-6), "V3.2", "V4.4");
    b.electrolytic("C1", farads(8e-6), volts(450), "bplus", "gnd");
    b.resistor("R7", ohms(470e3), "V4.4", "gnd");
    b.resistor("R11", ohms(410), "V4.5", "gnd");
    b.resistor("R3", ohms(10e3), "bplus", "V4.3");
    b.join({"V4.1", "gnd"});
    const Outcome<Chassis> set = b.build(catalogue());
    if (!set) FAIL(set.notices().front().text());
    return *set;
}

/// The pencil as entries, numbered as a log would.
inline std::vector<LogEntry> entered(const std::string& pencil, const Chassis& set, std::vector<LogEntry> before = {}) {
    const PencilBench bench{set, catalogue(), before};
    const Outcome<std::vector<LogEntry>> read = read_pencil(pencil, bench);
    if (!read) FAIL(read.notices().front().message);
    for (LogEntry entry : *read) {
        entry.number = static_cast<int>(before.size()) + 1;
        entry.at = "2026-11-26T20:15:00Z";
        before.push_back(std::move(entry));
    }
    return before;
}

class Folder {
  public:
    Folder() {
        std::random_device any;
        path_ = std::filesystem::temp_directory_path() / ("tubewright-record-" + std::to_string(any()));
        std::filesystem::create_directory(path_);
    }
    ~Folder() {
        std::error_code ignored;
        std::filesystem::remove_all(path_, ignored);
    }
    Folder(const Folder&) = delete;
    Folder& operator=(const Folder&) = delete;
    std::string file(const std::string& name) const { return (path_ / name).string(); }
    std::ptrdiff_t files() const {
        return std::distance(std::filesystem::directory_iterator(path_), std::filesystem::directory_iterator());
    }

  private:
    std::filesystem::path path_;
};

}  // namespace bench_set
