// SPDX-License-Identifier: MIT
// See fit.hpp.
#include "tubes/fit.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "tubes/laws.hpp"
#include "tubes/parameters.hpp"

namespace tubewright::tubes {
namespace {

/// Width of the cut-off at no field: velocities of emission and unevenness of a cathode. Chosen so that sheets' cut-off
/// currents and the gains of resistance-coupled stages come out (tests/published/tube_sheets_test.cpp).
constexpr double smear_volts = 0.25;
/// How it grows with the field of a pentode's screen: by the stages of the same sheets; hidden rows do not tell 0.02
/// from 0.1.
constexpr double pentode_smear_share = 0.02, converter_smear_share = 0.15;

constexpr int max_unknowns = 8;
using Unknowns = std::array<double, max_unknowns>;

/// A constant's prior: mean and one sigma, both of its transform (logarithm for positive constants).
struct Prior {
    double mean, sigma;
};

/// What the fit works on: unknowns to constants, rows and priors to residuals.
class Problem {
  public:
    Problem(const Structure& structure, const std::vector<FitRow>& rows, bool plain = false)
        : structure_(structure), rows_(rows), plain_(plain) {
        triode_ = structure.family == Family::triode;
        law_ = law(triode_ ? "triode" : "pentode").function;
        set_priors();
    }

    int unknowns() const { return static_cast<int>(priors_.size()); }

    std::vector<double> constants(const Unknowns& x) const;
    void residuals(const Unknowns& x, std::vector<double>& r) const;
    Unknowns start() const;

  private:
    void set_priors();
    bool low_row(const FitRow& row) const;
    double screen_sigma(const FitRow& row) const;
    /// Volts of grid that the plate of the first row is worth.
    double field_scale() const {
        return rows_.front().point.plate_volts.value_or(100) / rows_.front().point.mu.value_or(20);
    }
    const Structure& structure_;
    const std::vector<FitRow>& rows_;
    bool plain_ = false;
    bool triode_ = true;
    LawFunction law_ = nullptr;
    std::vector<Prior> priors_;
};

/// One sigma of a listed value as a fraction: its rounding, and how far the law is meant to be bent for it.
namespace weights {
constexpr double plate = 0.005, plate_without_gm = 0.02, cut_off = 0.3, triode_connected = 0.008;
constexpr double gm = 0.02, mu = 0.004, mu_as_product = 0.008, rp_triode = 0.06, rp_pentode = 0.15, screen = 0.03,
                 screen_converter = 0.03, screen_converter_low = 0.15, plate_converter_low = 0.018, gm_converter = 0.3;
}  // namespace weights

double plate_sigma(const FitRow& row) {
    if (!row.point.gm_siemens) return *row.point.plate_amps < 1e-4 ? weights::cut_off : weights::plate_without_gm;
    return row.triode_connected ? weights::triode_connected : weights::plate;
}

/// Of a converter's rows the one at the highest plate volts, which sets use, decides: the others have another
/// oscillation.
bool Problem::low_row(const FitRow& row) const {
    if (structure_.family != Family::converter) return false;
    for (const FitRow& other : rows_)
        if (*other.point.plate_volts > *row.point.plate_volts) return true;
    return false;
}

double Problem::screen_sigma(const FitRow& row) const {
    if (structure_.family != Family::converter) return weights::screen;
    return low_row(row) ? weights::screen_converter_low : weights::screen_converter;
}

void Problem::set_priors() {
    // The contact volts stand for all that shifts a grid; how well they are known shrinks with the field at the
    // cathode.
    const OperatingPoint& first = rows_.front().point;
    const double filament = -0.42 * structure_.filament_volts;
    if (triode_) {
        const double sigma = plain_ ? 0.01 : std::hypot(0.5, 0.15 * field_scale());
        priors_ = {{-7, 5},   // ln perveance
                   {2.5, 2},  // ln mu
                   {plain_                ? 0.6
                    : structure_.filament ? filament
                                          : 1.0,
                    sigma},        // contact
                   {0.05, 0.02}};  // width share
        return;
    }
    const double contact = structure_.filament ? filament : 0.8;
    if (structure_.family == Family::converter) {
        priors_ = {{-7, 5}, {2.7, 0.4}, {7, 1}, {contact, 0.3}, {0, 2}, {-1.0, 1.3}, {-2.6, 0.01}};
        return;
    }
    const bool remote = structure_.family == Family::remote_pentode || structure_.family == Family::remote_tetrode;
    const bool beam = structure_.family == Family::beam;
    const bool power = structure_.family == Family::power_pentode || beam;
    const double field = first.screen_volts.value_or(first.plate_volts.value_or(100)) / 8;
    priors_ = {{-7, 5},                                       // ln perveance
               {power ? 2.2 : 2.9, 0.8},                      // ln mu
               {beam ? 6.3 : 7.2, 1.2},                       // ln mu_plate
               {contact, std::hypot(0.3, 0.01 * field)},      // contact
               {-1.8, 1.5},                                   // ln screen share
               {power ? -1.8 : -2.2, 0.5},                    // ln knee
               {remote ? -3.0 : -9.0, remote ? 1.0 : 0.01}};  // ln tail
}

/// No row lists a plate below its knee; these give the plate and screen currents that two sheets print for a tube
/// driven to its full output (tests/published/full_drive_test.cpp, driven_stage_test.cpp).
constexpr double beam_corner = 1.5e-4, pentode_corner = 3e-4;

std::vector<double> Problem::constants(const Unknowns& x) const {
    const double grid_contact = structure_.filament ? 0.0 : -0.5;
    if (triode_) {
        std::vector<double> p(triode::count);
        p[triode::emission] = 1;
        p[triode::perveance] = std::exp(x[0]);
        p[triode::mu] = std::exp(x[1]);
        p[triode::contact] = x[2];
        p[triode::width] = plain_ ? 0.02 : smear_volts;
        p[triode::width_share] = plain_ ? 0.001 : x[3];
        p[triode::grid_hold] = 0.5;
        p[triode::grid_perveance] = 0.4 * p[triode::perveance];
        p[triode::grid_onset] = grid_onset_for(p[triode::grid_perveance], grid_contact);
        return p;
    }
    std::vector<double> p(pentode::count);
    p[pentode::emission] = 1;
    p[pentode::perveance] = std::exp(x[0]);
    p[pentode::mu] = std::exp(x[1]);
    p[pentode::mu_plate] = std::exp(x[2]);
    p[pentode::contact] = x[3];
    p[pentode::width] = smear_volts;
    p[pentode::width_share] = structure_.family == Family::converter ? converter_smear_share : pentode_smear_share;
    p[pentode::screen_share] = std::exp(x[4]);
    p[pentode::knee] = std::exp(x[5]);
    p[pentode::corner] = structure_.family == Family::beam ? beam_corner : pentode_corner;
    p[pentode::tail] = std::exp(x[6]);
    if (p[pentode::tail] < 1e-3) p[pentode::tail] = 0;
    p[pentode::tail_field] = 5;
    p[pentode::grid_perveance] = 0.25 * p[pentode::perveance];
    p[pentode::grid_onset] = grid_onset_for(p[pentode::grid_perveance], grid_contact);
    return p;
}

Unknowns Problem::start() const {
    Unknowns x{};
    for (int k = 0; k < unknowns(); ++k) x[static_cast<std::size_t>(k)] = priors_[static_cast<std::size_t>(k)].mean;
    const OperatingPoint& at = rows_.front().point;
    const double amps = *at.plate_amps / rows_.front().units;
    if (triode_) {
        double mu = at.mu.value_or(at.gm_siemens && at.rp_ohms ? *at.gm_siemens * *at.rp_ohms : 10);
        x[1] = std::log(mu);
        double e = std::max(*at.plate_volts / mu + *at.grid_volts + x[2], 0.1 * *at.plate_volts / mu);
        if (at.gm_siemens) e = 1.5 * amps / (*at.gm_siemens / rows_.front().units);
        x[0] = std::log(amps / (e * std::sqrt(e)));
        return x;
    }
    const double screen = at.screen_volts.value_or(*at.plate_volts);
    const double total = amps + at.screen_amps.value_or(0);
    double e = screen / std::exp(x[1]) + *at.grid_volts + x[3];
    if (at.gm_siemens) {
        e = 1.5 * amps / *at.gm_siemens;
        const double field = e - *at.grid_volts - x[3];
        if (field > 0.02 * screen && field < 0.5 * screen) x[1] = std::log(screen / field);
    }
    e = std::max(e, 0.2);
    x[0] = std::log(total / (e * std::sqrt(e)));
    if (at.screen_amps && !rows_.front().triode_connected) x[4] = std::log(*at.screen_amps / amps * 0.9);
    return x;
}

Prediction evaluate(LawFunction law, bool triode, const std::vector<double>& p, const FitRow& row) {
    const OperatingPoint& at = row.point;
    Prediction out;
    double v[3], i[3], g[9];
    if (triode) {
        v[0] = at.plate_volts.value_or(0);
        v[1] = at.grid_volts.value_or(0);
        law(p.data(), v, i, g);
        out.plate_amps = i[0] * row.units;
        out.gm_siemens = g[1] * row.units;
        out.rp_ohms = 1 / (g[0] * row.units);
        return out;
    }
    v[0] = at.plate_volts.value_or(0);
    v[1] = row.triode_connected ? v[0] : at.screen_volts.value_or(0);
    v[2] = at.grid_volts.value_or(0);
    law(p.data(), v, i, g);
    if (row.triode_connected) {
        out.plate_amps = i[0] + i[1];
        out.gm_siemens = g[2] + g[5];
        out.rp_ohms = 1 / (g[0] + g[1] + g[3] + g[4]);
        return out;
    }
    out.plate_amps = i[0];
    out.screen_amps = i[1];
    out.gm_siemens = g[2];
    out.rp_ohms = 1 / g[0];
    return out;
}

std::optional<double> product(const std::optional<double>& a, const std::optional<double>& b) {
    if (!a || !b) return std::nullopt;
    return *a * *b;
}

double log_ratio(double model, double listed) {
    return std::log(std::max(model, 1e-12) / listed);
}

void Problem::residuals(const Unknowns& x, std::vector<double>& r) const {
    r.clear();
    const std::vector<double> p = constants(x);
    for (const FitRow& row : rows_) {
        const Prediction m = evaluate(law_, triode_, p, row);
        const OperatingPoint& at = row.point;
        r.push_back(log_ratio(m.plate_amps, *at.plate_amps) /
                    (low_row(row) ? weights::plate_converter_low : plate_sigma(row)));
        if (!plain_ && at.gm_siemens)
            r.push_back(log_ratio(m.gm_siemens, *at.gm_siemens) /
                        (structure_.family == Family::converter ? weights::gm_converter : weights::gm));
        if (triode_) {
            const std::optional<double> mu = at.mu ? at.mu : product(at.gm_siemens, at.rp_ohms);
            if (mu)
                r.push_back(log_ratio(m.gm_siemens * m.rp_ohms, *mu) / (at.mu ? weights::mu : weights::mu_as_product));
        } else if (!plain_ && at.rp_ohms) {
            r.push_back(log_ratio(m.rp_ohms, *at.rp_ohms) /
                        (row.triode_connected ? weights::rp_triode : weights::rp_pentode));
        }
        if (!row.triode_connected && !triode_ && at.screen_amps) {
            const double sigma = screen_sigma(row);
            r.push_back(log_ratio(m.screen_amps, *at.screen_amps) / sigma);
        }
    }
    for (int k = 0; k < unknowns(); ++k) {
        const std::size_t u = static_cast<std::size_t>(k);
        r.push_back((x[u] - priors_[u].mean) / priors_[u].sigma);
    }
}

/// Solves the damped normal equations in place; false when they are not positive definite.
bool cholesky(int n, double a[max_unknowns][max_unknowns], double* b) {
    for (int j = 0; j < n; ++j) {
        double d = a[j][j];
        for (int k = 0; k < j; ++k) d -= a[j][k] * a[j][k];
        if (!(d > 0)) return false;
        a[j][j] = std::sqrt(d);
        for (int i = j + 1; i < n; ++i) {
            double s = a[i][j];
            for (int k = 0; k < j; ++k) s -= a[i][k] * a[j][k];
            a[i][j] = s / a[j][j];
        }
    }
    for (int i = 0; i < n; ++i) {
        for (int k = 0; k < i; ++k) b[i] -= a[i][k] * b[k];
        b[i] /= a[i][i];
    }
    for (int i = n - 1; i >= 0; --i) {
        for (int k = i + 1; k < n; ++k) b[i] -= a[k][i] * b[k];
        b[i] /= a[i][i];
    }
    return true;
}

double squares(const std::vector<double>& r) {
    double s = 0;
    for (double x : r) s += x * x;
    return s;
}

/// Levenberg and Marquardt's method with differences for the few unknowns.
Unknowns minimise(const Problem& problem, Unknowns x) {
    const int n = problem.unknowns();
    std::vector<double> r, moved;
    std::vector<std::array<double, max_unknowns>> jacobian;
    problem.residuals(x, r);
    double cost = squares(r), damping = 1e-3;
    for (int round = 0; round < 60; ++round) {
        jacobian.assign(r.size(), {});
        for (int k = 0; k < n; ++k) {
            constexpr double step = 1e-6;
            Unknowns y = x;
            y[static_cast<std::size_t>(k)] += step;
            problem.residuals(y, moved);
            for (std::size_t m = 0; m < r.size(); ++m)
                jacobian[m][static_cast<std::size_t>(k)] = (moved[m] - r[m]) / step;
        }
        bool better = false;
        double gain = 0;
        for (int attempt = 0; attempt < 12 && !better; ++attempt) {
            double a[max_unknowns][max_unknowns] = {};
            double b[max_unknowns] = {};
            for (std::size_t m = 0; m < r.size(); ++m)
                for (int i = 0; i < n; ++i) {
                    b[i] -= jacobian[m][static_cast<std::size_t>(i)] * r[m];
                    for (int j = 0; j <= i; ++j)
                        a[i][j] += jacobian[m][static_cast<std::size_t>(i)] * jacobian[m][static_cast<std::size_t>(j)];
                }
            for (int i = 0; i < n; ++i) a[i][i] *= 1 + damping;
            if (cholesky(n, a, b)) {
                Unknowns y = x;
                for (int i = 0; i < n; ++i) y[static_cast<std::size_t>(i)] += std::clamp(b[i], -1.0, 1.0);
                problem.residuals(y, moved);
                const double next = squares(moved);
                if (next < cost) {
                    gain = cost - next;
                    x = y;
                    r.swap(moved);
                    cost = next;
                    damping = std::max(damping * 0.2, 1e-9);
                    better = true;
                    break;
                }
            }
            damping *= 5;
        }
        if (!better || gain < 1e-9 * (1 + cost)) break;
    }
    return x;
}

bool given(const std::optional<double>& a, const std::optional<double>& b) {
    return a && b;
}

bool same_volts(const OperatingPoint& a, const OperatingPoint& b) {
    const auto equal = [](const std::optional<double>& x, const std::optional<double>& y) {
        return x.has_value() == y.has_value() && (!x || std::abs(*x - *y) < 1e-9);
    };
    return equal(a.plate_volts, b.plate_volts) && equal(a.screen_volts, b.screen_volts) &&
           equal(a.grid_volts, b.grid_volts);
}

bool within(const std::optional<double>& a, const std::optional<double>& b, double fraction) {
    if (!given(a, b)) return true;
    return std::abs(*a - *b) <= fraction * std::max(std::abs(*a), std::abs(*b)) * (1 + 1e-9);
}

}  // namespace

const char* word(Family family) {
    switch (family) {
        case Family::triode:
            return "triode";
        case Family::sharp_pentode:
            return "pentode, sharp cut-off";
        case Family::remote_pentode:
            return "pentode, remote cut-off";
        case Family::power_pentode:
            return "power pentode";
        case Family::beam:
            return "beam power tube";
        case Family::tetrode:
            return "tetrode";
        case Family::remote_tetrode:
            return "tetrode, remote cut-off";
        case Family::converter:
            return "converter";
    }
    return "";
}

std::vector<std::string> parameter_names(std::string_view name) {
    if (name == "vacuum-diode") return {"emission", "perveance", "limit_amps"};
    if (name == "gas-diode") return {"emission", "drop", "slope_ohms", "width"};
    if (name == "signal-diode") return {"emission", "perveance", "onset"};
    if (name == "triode")
        return {"emission",  "perveance",      "mu",        "contact", "width", "width_share",
                "grid_hold", "grid_perveance", "grid_onset"};
    if (name == "pentode")
        return {"emission", "perveance",  "mu",           "mu_plate", "contact", "width",          "width_share",
                "tail",     "tail_field", "screen_share", "knee",     "corner",  "grid_perveance", "grid_onset"};
    if (name == "converter" || name == "pentagrid") {
        std::vector<std::string> names = parameter_names("pentode");
        names.insert(names.end(), {"swing", "oscillator_grid", "divides", "total_at"});
        if (name == "converter") names.push_back("anode_perveance");
        return names;
    }
    return {};
}

double grid_onset_for(double grid_perveance, double contact) {
    return contact + 0.1 * std::log(grid_perveance * grid_width * std::sqrt(grid_width) / 0.3e-6);
}

Fit fit(const Structure& structure, const std::vector<FitRow>& rows) {
    Fit out;
    if (rows.empty()) return out;
    const Problem problem(structure, rows);
    const Unknowns x = minimise(problem, problem.start());
    out.law = structure.family == Family::triode ? "triode" : "pentode";
    out.parameters = problem.constants(x);
    for (const FitRow& row : rows) {
        const Prediction m = predict(out.law, out.parameters, row);
        out.worst_residual = std::max(out.worst_residual, std::abs(m.plate_amps / *row.point.plate_amps - 1));
    }
    return out;
}

Prediction predict(const std::string& name, const std::vector<double>& parameters, const FitRow& row) {
    return evaluate(law(name).function, name == "triode", parameters, row);
}

RowUse row_use(const OperatingPoint& point, double* units) {
    if (units != nullptr) *units = 1;
    if (!point.plate_amps || !point.plate_volts || !point.grid_volts) return RowUse::text;
    if (*point.plate_amps <= 0 || *point.plate_volts <= 0) return RowUse::text;
    const std::string& s = point.section;
    // With the suppressor on the plate too ("g2+g3 to p") the structure is another one.
    if (s == "triode-connected (g2 to p)") return RowUse::triode_connected;
    if (s == "triode, sections parallel") {
        if (units != nullptr) *units = 2;
        return RowUse::triode;
    }
    if (s == "triode" || s == "triode (per section)") return RowUse::triode;
    if (!point.screen_volts || *point.screen_volts <= 0) return RowUse::text;
    for (const char* word :
         {"pentode", "beam", "tetrode", "pentode, parallel filament", "beam, parallel filament", "pentode amplifier"})
        if (s == word) return RowUse::pentode;
    return RowUse::text;
}

Structure structure_of(const TubeType* type, const OperatingPoint& example) {
    Structure s;
    const auto has = [&](std::string_view word) {
        return type != nullptr && type->tube_class.find(word) != std::string::npos;
    };
    const RowUse use = row_use(example);
    if (use == RowUse::triode)
        s.family = Family::triode;
    else if (example.section.rfind("beam", 0) == 0 || has("beam"))
        s.family = Family::beam;
    else if (example.section.rfind("tetrode", 0) == 0 || has("tetrode"))
        s.family = has("remote") ? Family::remote_tetrode : Family::tetrode;
    else if (has("remote"))
        s.family = Family::remote_pentode;
    // Without a class a power stage is known by its load, or by its current.
    else if (has("power") || (type == nullptr && (example.load_ohms || *example.plate_amps > 0.015)))
        s.family = Family::power_pentode;
    else
        s.family = Family::sharp_pentode;
    if (type != nullptr && type->directly_heated) {
        s.filament = true;
        const double volts = type->heater_volts.value_or(0);
        // Battery filaments are listed with the grid returned to the negative end; a.c. filaments to the centre.
        const bool battery = type->heater_amps.value_or(1) <= 0.3;
        s.filament_volts = battery ? (volts == 2.8 ? 1.4 : volts) : 0;
    }
    return s;
}

Pools::Pools(const std::vector<OperatingPoint>& points, const Catalogue& catalogue) {
    for (const OperatingPoint& p : points) {
        if (row_use(p) == RowUse::text) continue;
        auto at = std::find(types_.begin(), types_.end(), p.type);
        if (at == types_.end()) {
            types_.push_back(p.type);
            rows_.emplace_back();
            at = types_.end() - 1;
        }
        rows_[static_cast<std::size_t>(at - types_.begin())].push_back(&p);
    }
    named_equal_.assign(types_.size(), std::vector<char>(types_.size(), 0));
    for (std::size_t a = 0; a < types_.size(); ++a) {
        const TubeType* type = catalogue.tube(types_[a]);
        if (type == nullptr || type->type != types_[a]) continue;
        const std::string& note = type->note;
        for (std::size_t at = note.find("= "); at != std::string::npos; at = note.find("= ", at + 2)) {
            const std::string name = note.substr(at + 2, note.find_first_of(" ;,", at + 2) - at - 2);
            const TubeType* equal = catalogue.tube(name);
            for (std::size_t b = 0; b < types_.size(); ++b)
                if (equal != nullptr && a != b && types_[b] == equal->type) named_equal_[a][b] = named_equal_[b][a] = 1;
        }
    }
}

bool Pools::twins(const OperatingPoint& a, const OperatingPoint& b) {
    if (row_use(a) != row_use(b) || !same_volts(a, b)) return false;
    return within(a.plate_amps, b.plate_amps, 0.02) && within(a.screen_amps, b.screen_amps, 0.02) &&
           within(a.gm_siemens, b.gm_siemens, 0.02);
}

const std::vector<const OperatingPoint*>& Pools::own(const std::string& type) const {
    static const std::vector<const OperatingPoint*> none;
    for (std::size_t k = 0; k < types_.size(); ++k)
        if (types_[k] == type) return rows_[k];
    return none;
}

std::vector<const OperatingPoint*> Pools::same(const OperatingPoint& point) const {
    std::vector<const OperatingPoint*> out;
    std::size_t own_type = types_.size();
    for (std::size_t k = 0; k < types_.size(); ++k)
        if (types_[k] == point.type) own_type = k;
    for (std::size_t k = 0; k < types_.size(); ++k)
        for (const OperatingPoint* other : rows_[k]) {
            const bool equal = own_type < types_.size() && named_equal_[own_type][k] != 0;
            if (other == &point || twins(*other, point) ||
                (equal && same_volts(*other, point) && row_use(*other) == row_use(point)))
                out.push_back(other);
        }
    return out;
}

bool Pools::pooled(std::size_t a, std::size_t b, const std::vector<const OperatingPoint*>& hidden) const {
    bool shared = named_equal_[a][b] != 0;
    for (const OperatingPoint* x : rows_[a]) {
        if (std::find(hidden.begin(), hidden.end(), x) != hidden.end()) continue;
        for (const OperatingPoint* y : rows_[b]) {
            if (std::find(hidden.begin(), hidden.end(), y) != hidden.end()) continue;
            if (row_use(*x) != row_use(*y) || !same_volts(*x, *y)) continue;
            if (!twins(*x, *y)) return false;
            shared = true;
        }
    }
    return shared;
}

std::vector<FitRow> Pools::rows(const std::string& type, bool triode,
                                const std::vector<const OperatingPoint*>& hidden) const {
    std::vector<FitRow> out;
    const auto add = [&](const OperatingPoint* p) {
        if ((row_use(*p) == RowUse::triode) != triode) return;
        if (std::find(hidden.begin(), hidden.end(), p) != hidden.end()) return;
        for (const FitRow& have : out)
            if (row_use(have.point) == row_use(*p) && same_volts(have.point, *p)) return;
        FitRow row;
        row.point = *p;
        for (std::optional<double>* value :
             {&row.point.screen_amps, &row.point.gm_siemens, &row.point.rp_ohms, &row.point.mu})
            if (*value && **value <= 0) value->reset();
        row.triode_connected = row_use(*p, &row.units) == RowUse::triode_connected;
        out.push_back(std::move(row));
    };
    for (std::size_t a = 0; a < types_.size(); ++a) {
        if (types_[a] != type) continue;
        for (const OperatingPoint* p : rows_[a]) add(p);
        for (std::size_t b = 0; b < types_.size(); ++b)
            if (a != b && pooled(a, b, hidden))
                for (const OperatingPoint* p : rows_[b]) add(p);
    }
    return out;
}

std::vector<HeldOut> score(const std::vector<OperatingPoint>& points, const Catalogue& catalogue,
                           std::string_view only) {
    const Pools pools(points, catalogue);
    std::vector<HeldOut> out;
    for (const std::string& type : pools.types()) {
        if (!only.empty() && type != only) continue;
        for (RowUse use : {RowUse::triode, RowUse::pentode}) {
            std::vector<const OperatingPoint*> set;
            for (const OperatingPoint* p : pools.own(type))
                if (row_use(*p) == use) set.push_back(p);
            if (set.size() < 2) continue;
            const TubeType* row = catalogue.tube(type);
            for (const OperatingPoint* p : set) {
                const std::vector<const OperatingPoint*> hidden = pools.same(*p);
                const std::vector<FitRow> rest = pools.rows(type, use == RowUse::triode, hidden);
                if (rest.empty()) continue;
                const Structure structure = structure_of(row, *set.front());
                FitRow asked;
                asked.point = *p;
                row_use(*p, &asked.units);
                HeldOut h;
                h.point = p;
                h.rows_of_type = static_cast<int>(set.size());
                for (const OperatingPoint* twin : hidden)
                    if (twin != p) h.twins.push_back(twin->type);
                const Fit f = fit(structure, rest);
                if (!f.law.empty()) {
                    const Prediction m = predict(f.law, f.parameters, asked);
                    h.plate_error = m.plate_amps / *p->plate_amps - 1;
                    if (p->gm_siemens && *p->gm_siemens > 0) h.gm_error = m.gm_siemens / *p->gm_siemens - 1;
                    if (use == RowUse::pentode && p->screen_amps && *p->screen_amps > 0)
                        h.screen_error = m.screen_amps / *p->screen_amps - 1;
                }
                const Problem plain(structure, rest, true);
                const Prediction m = predict(structure.family == Family::triode ? "triode" : "pentode",
                                             plain.constants(minimise(plain, plain.start())), asked);
                h.plain_error = m.plate_amps / *p->plate_amps - 1;
                out.push_back(std::move(h));
            }
        }
    }
    return out;
}

}  // namespace tubewright::tubes
