# SPDX-License-Identifier: MIT
"""From the answer of `tubewright model` to a netlist of the reference engine: elements and values from the sheet, equations by hand.

What each kind of element is (the sheet gives numbers, this file the meaning):
    resistor        ohms between two nodes; a heater or lamp besides has its law, which must give those ohms (compare.py)
    gap             siemens between two nodes; 0 is nothing
    capacitor       farads, with leak_siemens beside it
    inductor        henries in series with ohms
    voltage-source  volts_rms at hertz, a cosine at time 0, or volts that stand still
    current-source  amps flowing from the first node into the second
    transformer     windings k = 1, 2 ... between nodes 2k-2 and 2k-1: turns.k and ohms.k; magnetising_henries and loss_ohms across the first,
                    behind its ohms; 0 or less: none
    direct-source   volts that stand still
    contact         siemens between two nodes while the share of the period that has passed lies between from and to, and works is not 0
    device          law, its constants, and nodes in the order of the law's electrodes
"""

import math

import laws


class Netlist:
    def __init__(self):
        self.lines = ["* rebuilt from a model sheet"]
        self.nodes = {}
        self.count = 0
        self.pieces = {}
        self.currents = {}  # (element id, terminal or winding) -> vector
        self.heaters = {}  # element id -> vector of the volts across it

    def node(self, name):
        return self.nodes[name]

    def next(self):
        self.count += 1
        return self.count

    def put(self, text):
        self.lines.append(text)

    def let(self, text):
        """A node that stands at the value of the text; constants and single volts stay what they are."""
        if text in self.pieces:
            return self.pieces[text]
        if text.startswith("V(") and text.count("(") == 1 or "V(" not in text:
            return text
        k = self.next()
        self.put(f"B{k} w{k} 0 V={text}")
        self.pieces[text] = f"V(w{k})"
        return self.pieces[text]


def of(element, name, default=None):
    value = element["values"].get(name, default)
    if value is None:
        raise ValueError(f"{element['id']} ({element['kind']}) gives no {name}")
    return value


def resistor(net, e):
    a, b = (net.node(n) for n in e["nodes"])
    if a != b:
        net.put(f"R{net.next()} {a} {b} {of(e, 'ohms'):.12g}")
        if e["law"] == "heater":
            k = net.next()
            net.put(f"E{k} heat{k} 0 {a} {b} 1")
            net.heaters[e["id"]] = f"v(heat{k})"


def heater_ohms(values, volts_rms):
    """Of a filament at its own volts; at rest it is as cold as the room."""
    hot = values["rated_volts"] / values["rated_amps"]
    return hot * max((volts_rms / values["rated_volts"]) ** (1 - values["exponent"]), values["cold_share"])


def gap(net, e):
    a, b = (net.node(n) for n in e["nodes"])
    if a != b and of(e, "siemens") > 0:
        net.put(f"R{net.next()} {a} {b} {1 / of(e, 'siemens'):.12g}")


def capacitor(net, e):
    a, b = (net.node(n) for n in e["nodes"])
    if a == b:
        return
    if of(e, "farads") > 0:
        net.put(f"C{net.next()} {a} {b} {of(e, 'farads'):.12g}")
    if of(e, "leak_siemens", 0) > 0:
        net.put(f"R{net.next()} {a} {b} {1 / of(e, 'leak_siemens'):.12g}")


def inductor(net, e):
    a, b = (net.node(n) for n in e["nodes"])
    if a == b:
        return
    k = net.next()
    if of(e, "henries") > 0:
        net.put(f"L{k} {a} x{k} {of(e, 'henries'):.12g}")
        net.put(f"R{k} x{k} {b} {max(of(e, 'ohms'), 1e-6):.12g}")
    else:
        net.put(f"R{k} {a} {b} {max(of(e, 'ohms'), 1e-6):.12g}")


def voltage_source(net, e):
    plus, minus = (net.node(n) for n in e["nodes"])
    k = net.next()
    if "volts_rms" in e["values"]:
        net.put(f"V{k} {plus} {minus} SIN(0 {of(e, 'volts_rms') * math.sqrt(2):.12g} {of(e, 'hertz'):.12g} 0 0 90)")
    else:
        net.put(f"V{k} {plus} {minus} {of(e, 'volts'):.12g}")


def current_source(net, e):
    start, into = (net.node(n) for n in e["nodes"])
    if start != into:
        net.put(f"I{net.next()} {start} {into} {of(e, 'amps'):.12g}")


def transformer(net, e):
    core = f"core{net.next()}"
    pairs = [(net.node(e["nodes"][2 * k]), net.node(e["nodes"][2 * k + 1])) for k in range(len(e["nodes"]) // 2)]
    first = of(e, "turns.1")
    for k, (start, end) in enumerate(pairs, 1):
        ratio = of(e, f"turns.{k}") / first
        j = net.next()
        net.put(f"R{j} {start} y{j} {max(of(e, f'ohms.{k}'), 1e-6):.12g}")
        net.put(f"E{j} y{j} {end} {core} 0 {ratio:.12g}")
        net.put(f"F{j} 0 {core} E{j} {ratio:.12g}")
        net.currents[e["id"], k] = f"e{j}#branch"
    if of(e, "magnetising_henries") > 0 and math.isfinite(of(e, "magnetising_henries")):
        net.put(f"L{net.next()} {core} 0 {of(e, 'magnetising_henries'):.12g}")
    if of(e, "loss_ohms") > 0 and math.isfinite(of(e, "loss_ohms")):
        net.put(f"R{net.next()} {core} 0 {of(e, 'loss_ohms'):.12g}")


def contact(net, e):
    """A switch of the engine's own, driven by a pulse that stands high while the contact is closed."""
    a, b = (net.node(n) for n in e["nodes"])
    if a == b or of(e, "works") == 0:
        return
    k, period = net.next(), 1 / net.hertz
    begins, lasts = of(e, "from") * period, (of(e, "to") - of(e, "from")) * period
    edge = 1e-6
    net.put(f"V{k} g{k} 0 PULSE(0 1 {begins:.12g} {edge} {edge} {lasts - edge:.12g} {period:.12g})")
    net.put(f"S{k} {a} {b} g{k} 0 contact{k}")
    net.put(f".model contact{k} SW(VT=0.5 VH=0 RON={1 / of(e, 'siemens'):.12g} ROFF=1e9)")


def dry_rectifier(net, e):
    """V = fold ln(1 + I/saturation) + I series: the engine's own junction, its fold in units of its thermal volts."""
    anode, cathode = (net.node(n) for n in e["nodes"])
    if anode == cathode or of(e, "emission") == 0:
        return
    k = net.next()
    thermal = 1.380649e-23 * 300.15 / 1.602176634e-19
    net.put(f"V{k} {anode} z{k} 0")
    net.put(f"D{k} z{k} {cathode} dry{k}")
    net.put(f".model dry{k} D(IS={of(e, 'saturation_amps'):.12g} N={of(e, 'fold_volts') / thermal:.12g} RS={of(e, 'series_ohms'):.12g} XTI=0 EG=0.1)")
    net.put(f"R{k} z{k} {cathode} {1 / of(e, 'reverse_siemens'):.12g}")
    net.currents[e["id"], 0] = f"v{k}#branch"


def device(net, e):
    if e["law"] == "dry-rectifier":
        return dry_rectifier(net, e)
    nodes = [net.node(n) for n in e["nodes"]]
    common = nodes[-1]
    volts = [f"V({n})" if common == "0" else (f"V({n},{common})" if n != "0" else f"(-V({common}))") for n in nodes[:-1]]
    volts = ["0" if n == common else v for n, v in zip(nodes, volts)]
    amps = laws.LAWS[e["law"]](e["values"], volts, net.let)
    for terminal, (n, text) in enumerate(zip(nodes, amps)):
        if n == common:
            continue
        k = net.next()
        net.put(f"V{k} {n} z{k} 0")
        net.put(f"B{k} z{k} {common} I={text}")
        net.currents[e["id"], terminal] = f"v{k}#branch"


KINDS = {"resistor": resistor, "gap": gap, "capacitor": capacitor, "inductor": inductor, "voltage-source": voltage_source,
         "current-source": current_source, "direct-source": voltage_source, "contact": contact, "transformer": transformer, "device": device}


def in_scenario(sheet, scenario):
    """The elements with the changes that the scenario makes."""
    elements = {e["id"]: {**e, "values": dict(e["values"])} for e in sheet["elements"]}
    if len(elements) != len(sheet["elements"]):
        raise ValueError("two elements share an id")
    for change in sheet["changes"]:
        if change["scenario"] == scenario:
            if change["value"] not in elements[change["element"]]["values"]:
                raise ValueError(f"{change['element']} has no {change['value']} to change")
            elements[change["element"]]["values"][change["value"]] = change["to"]
    return elements


def start_volts(net, starts):
    """Where every node that the answer names begins, and every piece of a law with them: the engine's first step finds no leap to make."""
    volts = {node: 0.0 for node in net.nodes.values()}
    volts |= {net.nodes[name]: v for name, v in starts.items() if net.nodes.get(name, "0") != "0"}
    words = {"max": max, "min": min, "abs": abs, "ln": math.log, "exp": math.exp, "sqrt": math.sqrt, "V": lambda a, b=0.0: a - b}
    for text, piece in net.pieces.items():
        name = piece[2:-1]
        volts[name] = eval(text, {"__builtins__": {}}, words | volts)
    del volts["0"]
    return volts


def netlist(sheet, scenario, starts, share=1.0, hertz=60.0):
    """The netlist, without its analysis. starts: direct volts of nodes; those above 1 V begin at `share` of them. hertz: of the period, for contacts."""
    net = Netlist()
    net.hertz = hertz
    net.nodes = {name: "0" if k == 0 else f"n{k}" for k, name in enumerate(sheet["nodes"])}
    for e in in_scenario(sheet, scenario).values():
        KINDS[e["kind"]](net, e)
    begin = {name: (share if abs(volts) > 1 else 1) * volts for name, volts in starts.items()}
    net.lines += [f".ic V({node})={volts:.9g}" for node, volts in start_volts(net, begin).items()]
    return net
