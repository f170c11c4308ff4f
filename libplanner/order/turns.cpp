// SPDX-License-Identifier: MIT
// See turns.hpp.
#include "order/turns.hpp"

#include <algorithm>
#include <optional>

#include "choice/figure.hpp"

namespace tubewright::repair {
namespace {

using choice::figure;

/// Whether a turn is to be worth the share that it adds to the minutes, or its minutes alone.
enum class Turn { its_share, its_minutes };

/// What one more turn adds to the minutes of the whole.
double share_of_a_turn(const Visits& visits, Turn counts) {
    double all = 0;
    for (const RepairStep& s : visits.steps()) all += s.minutes;
    if (counts == Turn::its_minutes) return 0;
    return all > 0 ? visits.minutes_of_a_turn / all : 0;
}

/// By what share the danger stands longer than in another order.
double rise(const Arranged& longer, const Arranged& made) {
    return static_cast<double>(longer.objective - made.objective) / static_cast<double>(std::max(1LL, made.objective));
}

bool neighbours(const Visits& visits, const std::vector<int>& order) {
    for (std::size_t k = 1; k < order.size(); ++k) {
        const RepairStep &a = visits.step(order[k - 1]), &b = visits.step(order[k]);
        if (a.visit > 0 && b.visit > 0 && a.visit != b.visit && a.place == b.place) return true;
    }
    return false;
}

bool join_neighbours(Visits& visits, const std::vector<int>& order) {
    for (std::size_t k = 1; k < order.size(); ++k) {
        const RepairStep &a = visits.step(order[k - 1]), &b = visits.step(order[k]);
        if (a.visit == 0 || b.visit == 0 || a.visit == b.visit || a.place != b.place) continue;
        visits.join(a.visit, b.visit);
        return true;
    }
    return false;
}

Arranged neighbours_joined(Visits& visits, Arranged made) {
    while (join_neighbours(visits, made.order)) made = visits.arranged();
    return made;
}

/// Whether the two visits are there and one visit would wait for nothing that waits for it; then they are one.
bool joins(Visits& visits, int kept, int gone) {
    if (!visits.has_visit(kept) || !visits.has_visit(gone)) return false;
    const std::vector<RepairStep> before = visits.list.steps;
    visits.join(kept, gone);
    if (!visits.in_a_ring(kept)) return true;
    visits.list.steps = before;
    return false;
}

/// A second visit to a place stays where a ring forces it, or where one visit would keep the danger standing longer
/// by a larger share than its turn adds to the minutes of the whole.
Arranged fewer_visits(Visits& visits, Turn counts, Arranged made) {
    constexpr int tried_most = 64;  // orders that are looked at; a declared number
    const double share = share_of_a_turn(visits, counts);
    // all pairs at once, and of what is not worth it the halves
    const std::vector<std::pair<int, int>> pairs = visits.to_one_place();
    std::vector<std::pair<std::size_t, std::size_t>> ranges{{0, pairs.size()}};
    int tried = 0;
    while (!ranges.empty()) {
        const auto [from, to] = ranges.back();
        ranges.pop_back();
        const std::vector<RepairStep> before = visits.list.steps;
        const std::set<std::string> turned = visits.turns;
        if (tried == tried_most && to - from > 1) {  // each by itself: only whether a ring forbids it
            ranges.emplace_back((from + to) / 2, to);
            ranges.emplace_back(from, (from + to) / 2);
            continue;
        }
        std::vector<int> gone;
        for (std::size_t k = from; k < to; ++k)
            if (joins(visits, pairs[k].first, pairs[k].second)) gone.push_back(pairs[k].second);
        if (gone.empty()) continue;
        double longer = 0;  // not looked at
        if (tried < tried_most) {
            ++tried;
            Arranged fewer = visits.arranged();
            longer = rise(fewer, made);
            if (fewer.ring.empty() && longer <= share * static_cast<double>(gone.size())) {
                made = std::move(fewer);
                continue;
            }
        }
        visits.list.steps = before;
        visits.turns = turned;
        visits.reindex();
        if (to - from == 1) {
            visits.worth[gone.front()] = longer;
        } else {
            ranges.emplace_back((from + to) / 2, to);
            ranges.emplace_back(from, (from + to) / 2);
        }
    }
    return made;
}

/// The end of a visit whose seconds, times the weight that waits for them, may be worth a turn of its own.
std::optional<std::vector<std::string>> worth_parting(const Visits& visits, const Arranged& made, double share,
                                                      const std::set<std::pair<std::string, std::string>>& refused) {
    double left = 0;
    for (const RepairStep& s : visits.steps()) left += static_cast<double>(s.w_microrisk);
    const double least = share * static_cast<double>(made.objective);
    std::map<std::string, std::set<int>> there;  // nobody comes to a place a third time for a share of a turn
    for (const RepairStep& s : visits.steps())
        if (s.visit > 0) there[s.place].insert(s.visit);
    for (std::size_t k = 0; k < made.order.size();) {
        const int visit = visits.step(made.order[k]).visit;
        std::size_t end = k + 1;
        while (visit > 0 && end < made.order.size() && visits.step(made.order[end]).visit == visit) ++end;
        std::vector<std::string> later;
        double seconds = 0;
        const bool twice = there[visits.step(made.order[k]).place].size() > 1;
        // the turn and one step stay
        for (std::size_t m = end; !twice && m-- > k + 2;) {
            const RepairStep& s = visits.step(made.order[m]);
            later.insert(later.begin(), s.step);
            seconds += static_cast<double>(s.p_seconds);
            if (seconds * left > least && !refused.count({later.front(), later.back()})) return later;
        }
        for (; k < end; ++k) left -= static_cast<double>(visits.step(made.order[k]).w_microrisk);
    }
    return std::nullopt;
}

/// A visit is parted in two by the same measure: what is done last in it would keep the danger elsewhere standing
/// longer by a larger share than one more turn adds to the minutes of the whole.
Arranged more_visits(Visits& visits, Turn counts, Arranged made) {
    constexpr int tried_singly = 24;  // a declared number
    if (!made.ring.empty()) return made;
    const double share = share_of_a_turn(visits, counts);
    std::set<std::pair<std::string, std::string>> refused;  // first and last of what would go later
    for (int tried = 0; tried < tried_singly;) {
        const std::optional<std::vector<std::string>> later = worth_parting(visits, made, share, refused);
        if (!later) break;
        ++tried;
        const std::vector<RepairStep> before = visits.list.steps;
        const std::set<std::string> turned = visits.turns;
        int next = 0;
        for (const RepairStep& s : visits.steps()) next = std::max(next, s.visit);
        for (RepairStep& s : visits.list.steps)
            if (holds(*later, s.step)) s.visit = next + 1;
        Arranged parted = visits.arranged();
        const double longer = rise(made, parted);
        if (parted.ring.empty() && longer > share && !neighbours(visits, parted.order)) {
            visits.worth[next + 1] = longer;
            made = std::move(parted);
            continue;
        }
        refused.emplace(later->front(), later->back());
        visits.list.steps = before;
        visits.turns = turned;
        visits.reindex();
    }
    return made;
}

Arranged moved(Visits& visits, Turn counts, Arranged made) {
    return neighbours_joined(visits, more_visits(visits, counts, fewer_visits(visits, counts, std::move(made))));
}

}  // namespace

Arranged by_neighbourhood(Visits& visits) {
    return moved(visits, Turn::its_share, neighbours_joined(visits, visits.arranged()));
}

Arranged by_risk_alone(Visits& visits, const Arranged& whole, const Visits& apart) {
    const Arranged sooner = moved(visits, Turn::its_minutes, whole);
    Visits singly = apart;
    singly.one_by_one();
    const Arranged each = neighbours_joined(singly, singly.arranged());
    if (!each.ring.empty() || each.objective >= sooner.objective) return sooner;
    visits = singly;
    return each;
}

void tell_second_turns(Visits& visits, const std::vector<int>& order) {
    std::set<std::string> seen;
    for (int j : order) {
        RepairStep& s = visits.list.steps[at(j)];
        if (!visits.is_turn(j) || seen.insert(s.place).second) continue;
        const auto worth = std::find_if(visits.worth.begin(), visits.worth.end(), [&](const auto& visit) {
            return std::any_of(visits.steps().begin(), visits.steps().end(),
                               [&](const RepairStep& t) { return t.visit == visit.first && t.place == s.place; });
        });
        s.reason = (worth == visits.worth.end()
                        ? std::string("again: it waits for work elsewhere that waits for the first visit")
                    : worth->second <= 0 ? std::string("again: whether one visit is worth it was not looked at")
                                         : "again: in one visit the listed danger would stand " +
                                               figure(100 * worth->second, 2) + " % longer") +
                   "; " + s.reason;
    }
}

}  // namespace tubewright::repair
