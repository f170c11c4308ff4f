// SPDX-License-Identifier: MIT
// Parts and names to a chassis: the one path that the file reader and ChassisBuilder share. Every name is a point;
// naming a point in two places joins them (union-find), so a pin is a net. finish() gives sockets the pins of their
// base, resolves "V3.2", "R7.a", "C20.square" and "TS2.3", joins the ends of wires, numbers the nets in order of first
// appearance and reports every error at once.
//
//     Assembly a("two-stage amplifier");
//     Part& r = a.add(PartKind::resistor, "R7", spot);
//     a.lead(r, "a", "V2.5", spot);  a.lead(r, "b", "gnd", spot);
//     Outcome<Chassis> set = a.finish(catalogue);
// Tests: tests/chassis/assembly_test.cpp.
#pragma once

#include <array>

#include <tubewright/chassis.hpp>

#include "chassis/data.hpp"

namespace tubewright {

/// Line and column in the file being read; 0 when there is no file.
struct Spot {
    int line = 0, column = 0;
};

/// A construction for all parts of a kind that say nothing, and where the file says it.
struct FileDefault {
    std::string key;
    Spot spot;
};

class Assembly {
  public:
    explicit Assembly(std::string name);

    Text file;
    std::optional<int> built;
    LineSpec line;
    /// File-wide constructions; empty: the trade's usual one, and a note says so.
    FileDefault paper, mica, electrolytic, resistor, wire, cord;
    std::optional<double> tolerance;
    std::string m_means;  ///< as written; empty: unsettled

    void title(std::string_view name) { data_->name = name; }
    /// Room for this many parts.
    void reserve(std::size_t parts);

    /// A new part. An empty id is made up for wires, cords, speakers and untraced sections, refused for the rest. The
    /// reference stays good until the next add().
    Part& add(PartKind kind, std::string_view id, Spot spot, Spot id_spot);
    /// Where the tube and construction attributes of the newest part stand.
    void spots(Spot tube, Spot construction);
    /// A lead of the newest part on a named net.
    void lead(Part& part, std::string_view lead_name, std::string_view net, Spot spot);
    /// A lead that the part has but the file does not place: somebody must name it ("S1.2") or finish() says so when
    /// `required`.
    void unplaced_lead(Part& part, std::string_view lead_name, bool required);
    /// A can: its id is known, its common minus (may be empty) is "C20.minus"; sections are parts of their own.
    void can(std::string_view id, std::string_view minus, Spot spot, Spot minus_spot);
    /// A part of several sections, each a part of its own ("R20.1-2"): "R20.1" is a lug, a plain name of a net.
    /// count 0: any name will do.
    void lugs(std::string_view id, Spot spot, int count);
    /// Parts to lift before `part` (a part or a can) can be reached.
    void reach(std::string_view part, Spot part_spot, std::vector<std::pair<std::string, Spot>> lift);

    void join(const std::vector<std::pair<std::string, Spot>>& names);
    void node(std::string_view is, std::string_view net, bool touch, Spot spot);
    void reference(std::string_view net, Spot spot);
    void line_nets(std::string_view hot, Spot hot_spot, std::string_view neutral, Spot neutral_spot);

    /// An error or note of the caller, to stand among the others by its place.
    void notice(int number, Severity severity, Spot spot, std::string message, std::string remedy);
    bool failed() const { return failed_; }
    bool knows(std::string_view id) const { return data_->ids.find(id) >= 0; }

    /// All errors sorted by place, or the chassis with its notes. Once.
    Outcome<Chassis> finish(const Catalogue& catalogue);

  private:
    struct RoleNet {
        std::string what;  ///< "chassis-metal", "reference", "line hot" ...
        int point = -1;
        bool touch = false;
        Spot spot;
    };
    struct Reach {
        std::string part;
        Spot spot;
        std::vector<std::pair<std::string, Spot>> lift;
    };
    struct LeadAt {
        int part = -1, lead = -1;
    };
    struct PartSpots {
        Spot part, tube, construction;
    };

    /// Parts that later steps ask for, each noted when the next one is added and it still lies near the processor: a
    /// step that goes through all of a large file's parts waits for memory.
    struct Gathered {
        int so_far = 0;
        std::vector<int> no_id, on_plugs, inside, touched;
        std::vector<int> listed;  ///< none of its leads is placed: one of a list, unless a pin is named elsewhere
    };

    Text lead_word(std::string_view name);
    const std::vector<int>& of_kind(PartKind kind) const { return of_kind_[static_cast<std::size_t>(kind)]; }
    void gather();
    int new_point(int name, Spot spot);
    int point(std::string_view name, Spot spot);
    int root(int point);
    void unite(int a, int b);
    Place place(Spot spot) const { return {file, spot.line, spot.column}; }
    int part_of(std::string_view id) const;
    std::string suggest_part(std::string_view id);
    void error(int number, Spot spot, std::string message, std::string remedy);
    void note(int number, Spot spot, std::string message, std::string remedy);

    void make_ids();
    void fit_tubes(const Catalogue& catalogue);
    void check_defaults(const Catalogue& catalogue);
    void settle_constructions(const Catalogue& catalogue);
    void resolve_names();
    void resolve(int name);
    int resolve_on(int part, std::string_view lead_name, int name, Spot spot);
    std::string seen_from_below(const Part& socket, std::string_view pin) const;
    void resolve_reach();
    void reach_in_a_ring();
    void join_wires();
    void untraced_returns();
    void check_leads();
    void check_holders();
    void ride_plugs();
    void number_nets();
    void place_roles();
    void find_line_switches();
    void line_from_battery();

    std::shared_ptr<Chassis::Data> data_;
    std::vector<Part>& parts_;
    std::vector<PartSpots> part_spots_;
    std::array<std::vector<int>, static_cast<std::size_t>(PartKind::block) + 1> of_kind_;
    Gathered gathered_;
    NameTable lead_names_;
    std::vector<Text> lead_words_;  ///< by index of lead_names_: one text for every lead "a" there is
    std::vector<int> parent_, weight_, name_of_point_;
    std::vector<Spot> point_spot_;
    std::vector<int> point_of_name_;  ///< every name has one
    std::vector<LeadAt> required_;
    std::vector<int> can_minus_;  ///< point of the common minus, by id index; -1: the id is a part, -2: it has lugs,
                                  ///< -2 - n: lugs 1 to n
    std::vector<RoleNet> roles_;
    std::vector<Reach> reaches_;
    std::vector<Notice> notices_;
    std::vector<std::string_view> known_ids_;
    int suggestions_ = 0, unlisted_ = 0;
    bool failed_ = false, finished_ = false, sections_ = false;  ///< sections_: an id has a dot in it
};

}  // namespace tubewright
