// SPDX-License-Identifier: MIT
// A network of lumped elements and its solutions: direct-current operating point, periodic steady state, small signal,
// sensitivities. It knows nothing of radios. A Circuit is described once; an Engine analyses it once and solves it any
// number of times, with element values overridden, warm-started from a former solution.
//
//     Circuit c;
//     Node a = c.node("in"), b = c.node("out");
//     c.voltage_source(a, ground, Waveform::constant(10));
//     Element r = c.resistor(a, b, 1000);
//     c.resistor(b, ground, 1000);
//     Engine engine(c);
//     Operating op = engine.operating();             // op.solved, op.volts(b) == 5
//
// Nodal analysis (Ho, Ruehli, Brennan 1975), shooting for periodic steady state (Aprille and Trick 1972), both from
// memory; figures and traps in DEVELOPERS.md. Tests: tests/circuit/.
#pragma once

#include <cstddef>
#include <memory>
#include <span>
#include <string>
#include <vector>

namespace tubewright::circuit {

using Node = int;     ///< 0 is the reference node
using Element = int;  ///< index in order of making
constexpr Node ground = 0;

/// A source's course over time: direct + amplitude * cos(2 pi f t + phase). The line starts as a cosine.
struct Waveform {
    double direct = 0;
    double amplitude = 0;
    double hertz = 0;
    double phase = 0;
    static Waveform constant(double v) { return {v, 0, 0, 0}; }
    static Waveform cosine(double amplitude, double hertz, double phase = 0) { return {0, amplitude, hertz, phase}; }
};

/// A memoryless device of n terminals (2 to 8). Given v[k], volts of terminal k against the last terminal (k < n-1), it
/// sets i[k], amperes into terminal k, and g[k*(n-1)+j] = d i[k] / d v[j]. The last terminal carries minus the sum.
/// Must be finite, continuous with its first derivatives everywhere; p are the device's own parameters (opaque here).
struct Law {
    int terminals = 2;
    void (*evaluate)(const double* p, const double* v, double* i, double* g) = nullptr;
};

/// One winding of an iron core: ends, turns (relative), series ohms. Dot at `from`.
struct Winding {
    Node from = ground;
    Node to = ground;
    double turns = 1;
    double ohms = 0;
};

class Circuit {
  public:
    Node node(std::string name);
    int nodes() const;     ///< with the reference
    int unknowns() const;  ///< of a solution: volts of the nodes but the reference, then currents of branches
    int elements() const;
    const std::string& name(Node node) const;

    Element resistor(Node a, Node b, double ohms);
    /// Value in siemens; 0 is allowed and stays in the pattern: a gap that a fault may close.
    Element conductance(Node a, Node b, double siemens);
    /// leak: siemens in parallel, kept in the pattern even when 0 (open, leaky and shorted are changes of value).
    Element capacitor(Node a, Node b, double farads, double leak_siemens = 0);
    /// Series ohms belong to it; 0 is allowed.
    Element inductor(Node a, Node b, double henries, double ohms);
    Element voltage_source(Node plus, Node minus, Waveform waveform);
    /// Positive current flows out of the source into `into`.
    Element current_source(Node from, Node into, double amps);
    /// Ideal core with a magnetising inductance and a core-loss resistance, both referred to the first winding
    /// (henries <= 0 or infinite: no magnetising current; loss_ohms <= 0: none).
    Element transformer(std::vector<Winding> windings, double magnetising_henries, double loss_ohms);
    /// The parameters are copied. The last node is the common terminal.
    Element device(Law law, std::span<const Node> nodes, std::span<const double> parameters);
    /// A contact that swings with the period: closed while the turn lies in (from, to], shares of a period; open for
    /// the rest of it and at direct current. An edge falls on a step where from and to are whole steps. Parameter 0: 1,
    /// or 0 for one that stays open.
    Element contact(Node a, Node b, double closed_siemens, double from, double to);
    /// Marks the element as one that rectifies: two-level puts it into the periodic block.
    void rectifies(Element element);

    struct Data;
    const Data& data() const { return *data_; }
    Circuit();
    ~Circuit();
    Circuit(Circuit&&) noexcept;
    Circuit& operator=(Circuit&&) noexcept;

  private:
    std::unique_ptr<Data> data_;
};

/// What a changed value means, by element kind.
enum class Slot {
    ohms,         ///< resistor, inductor (series)
    siemens,      ///< conductance; capacitor (its leak)
    farads,       ///< capacitor
    henries,      ///< inductor; transformer (magnetising)
    direct,       ///< voltage source (volts), current source (amps)
    amplitude,    ///< voltage source
    parameter,    ///< device: parameters[index]
    winding_ohms  ///< transformer: ohms of winding[index]
};
struct Override {
    Element element = 0;
    Slot slot = Slot::ohms;
    int index = 0;
    double value = 0;
};

enum class Method { none, newton, gmin, source_steps, pseudo_transient, shooting, two_level };
const char* word(Method method);

/// Why there is no solution: which nodes and elements, and what kind of trouble.
struct Trouble {
    enum class Kind { none, floating_nodes, source_loop, current_cut, singular, not_converged } kind = Kind::none;
    std::vector<Node> nodes;
    std::vector<Element> elements;
    std::string text;
};

/// A direct-current operating point: capacitors open (but for their leaks), inductors their ohms, sources at `direct`.
struct Operating {
    bool solved = false;
    Method method = Method::none;
    Trouble trouble;
    int iterations = 0;
    double worst_residual_amps = 0;
    Node worst_node = 0;
    std::vector<double> unknowns;
    /// Nodes of islands without a path to the reference, filled when Engine::tie_islands is on: only differences of
    /// volts inside one island mean anything; a node's own volts must not be printed.
    std::vector<Node> undetermined;
    /// Throws std::out_of_range when unsolved.
    double volts(Node node) const { return node == ground ? 0.0 : unknowns.at(static_cast<std::size_t>(node - 1)); }
};

/// Figures of one quantity over a period.
struct Course {
    double mean = 0;
    double rms = 0;      ///< with the mean
    double low = 0;      ///< trough
    double high = 0;     ///< crest
    bool sharp = false;  ///< of a current: a pulse of few steps, or one that rises within a step and falls at once
    double peak() const { return high > -low ? high : -low; }
};

/// A periodic steady state. Courses of nodes are always there; currents are computed on request from the kept waveform.
struct Periodic {
    bool solved = false;
    Method method = Method::none;
    Trouble trouble;
    int steps_per_period = 0;
    int rounds = 0;  ///< Newton rounds on the period map (two-level: outer rounds)
    double period_seconds = 0;
    double period_error_volts = 0;   ///< |Phi(z) - z|, worst
    double worst_residual_amps = 0;  ///< KCL
    Node worst_node = 0;
    double energy_balance = 0;                  ///< (in - lost) / in over the period, signed
    std::vector<Course> volts;                  ///< by node, [0] is the reference
    std::vector<double> state;                  ///< at t = 0, for warm starts
    std::vector<std::vector<double>> waveform;  ///< unknowns at the end of each step: [step][unknown]
    std::vector<std::vector<double>> inner;     ///< the same at the inner stage of each step
    std::vector<char> leaps;         ///< steps in which a contact makes, their inner stage at the half; or empty
    std::vector<double> means;       ///< of the unknowns
    std::vector<char> smooth;        ///< two-level: states whose course is a sum of harmonics, not of steps
    double charge_balance = 0;       ///< worst mean capacitor current over the largest mean source or device current
    int stage_iterations = 0;        ///< Newton iterations of the last period
    int block_nodes = 0;             ///< nodes of the periodic block (two-level)
    int block_states = 0;            ///< its states
    std::vector<Node> undetermined;  ///< as Operating::undetermined
};

struct PeriodicOptions {
    double hertz = 60;  ///< fundamental; all sources are at it or its multiples
    int steps = 128;
    bool two_level = true;  ///< false: full shooting at once
    bool ripple = true;     ///< false: nodes beyond the periodic block may carry their mean alone (fault sweeps)
    const Periodic* warm = nullptr;
};

class Engine {
  public:
    explicit Engine(const Circuit& circuit);
    /// A second engine on the same analysed pattern, for another thread.
    Engine(const Engine& other);
    Engine(Engine&&) noexcept;
    ~Engine();

    /// Off (the start): a floating island is Trouble and nothing is solved. On: each island is held at one node, the
    /// rest is solved as usual, and the island's nodes are named in `undetermined`. For fault sweeps, where an open
    /// part may cut something off.
    void tie_islands(bool on);

    Operating operating(std::span<const Override> overrides = {}, const Operating* warm = nullptr);
    Periodic periodic(const PeriodicOptions& options, std::span<const Override> overrides = {});

    /// Nodes that nothing holds against the reference: no path of branches, and of devices at some instant, that pass
    /// more than so many siemens. Their volts are shares between leaks.
    std::vector<Node> unheld(const Periodic& solution, double least_siemens, std::span<const Override> overrides = {});

    /// Course of the current into terminal `terminal` of the element (0 = first node; for two-terminal elements the
    /// current from first to second node; for a transformer the terminal is the winding and the current flows from ->
    /// to inside it), with the same overrides as the solution had.
    Course current(const Periodic& solution, Element element, int terminal,
                   std::span<const Override> overrides = {}) const;
    /// What a transformer takes in where winding `first` ends and `second` begins.
    Course current_at_tap(const Periodic& solution, Element transformer, int first, int second,
                          std::span<const Override> overrides = {}) const;
    double current(const Operating& solution, Element element, int terminal,
                   std::span<const Override> overrides = {}) const;
    /// Mean and peaks of v(a) - v(b).
    Course volts_between(const Periodic& solution, Node a, Node b) const;
    /// Mean power taken by the element over the period, watts.
    double watts(const Periodic& solution, Element element, std::span<const Override> overrides = {}) const;
    /// Of one terminal of a device alone, its volts counted from the common terminal.
    double watts(const Periodic& solution, Element element, int terminal,
                 std::span<const Override> overrides = {}) const;

    /// Whether an operating point can last. It cannot where two states hold it between them (stages that drive one
    /// another crosswise): there the determinant of the equations has another sign than with resistors in the devices'
    /// places, and some disturbance grows whatever capacitances and inductances there are (Green and Willson 1992,
    /// from memory). True does not say that nothing oscillates. True also where there is no answer.
    bool lasts(const Operating& at, std::span<const Override> overrides = {});

    /// How many disturbances grow by themselves about the means of a period, and about how fast the fastest of them
    /// turns to and fro: the turns that the determinant makes about 0 along the imaginary axis, beside those with
    /// resistors in the devices' places (Nyquist 1932, from memory). Rectifiers are so many siemens each. 0 where there
    /// is no answer.
    struct Growing {
        int modes = 0;
        double hertz = 0;
    };
    Growing growing(const Periodic& at, double rectifier_siemens, std::span<const Override> overrides = {});

    /// d v(node) / d value for each (element, slot, index) asked, at a solved operating point.
    std::vector<double> sensitivities(const Operating& at, Node node, std::span<const Override> of,
                                      std::span<const Override> overrides = {});
    /// The same for many nodes on one factorisation: a row a node, and last in it the node's own source resistance (d
    /// v(node) / d ampere into it). Empty rows where there is no answer.
    std::vector<std::vector<double>> sensitivities(const Operating& at, std::span<const Node> nodes,
                                                   std::span<const Override> of,
                                                   std::span<const Override> overrides = {});
    /// d mean volts / d value over a period, [value][node], the whole period moving with it, reactances and all; by the
    /// derivatives of the integrator's own stages, no differences of solutions. An element of -1 asks for a steady
    /// ampere driven into node `index`: the diagonal of those is the source resistance. Changes of farads and henries
    /// give 0. `alternating`, where given, gets the same of the rms of each node without its mean.
    std::vector<std::vector<double>> mean_sensitivities(const Periodic& at, std::span<const Override> of,
                                                        std::span<const Override> overrides = {},
                                                        std::vector<std::vector<double>>* alternating = nullptr);
    /// Complex node volts (real, imaginary by node) for 1 A driven from `from` into `into` at `hertz`, about the
    /// operating point.
    struct Phasor {
        double real = 0;
        double imaginary = 0;
    };
    std::vector<Phasor> small_signal(const Operating& at, Node from, Node into, double hertz,
                                     std::span<const Override> overrides = {});

    struct State;

  private:
    std::unique_ptr<State> state_;
};

}  // namespace tubewright::circuit
