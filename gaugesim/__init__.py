"""Simulates dashboard and boat gauge circuits, and works back from a complaint and readings to the fault.

Data moves down this list and never back up; a module imports only from those above it.

What all rest on:

    errors        the family of exceptions
    plain         text from strangers, made fit to be read on a terminal
    files         read with a limit, written whole or not at all
    paths         where the netlists and the ngspice library are
    notebook      small tables with which results show themselves in a notebook
    physics       movements, senders, wires, contacts, supplies, lamps, meters and water as pure functions

What is built:

    expression    the arithmetic in a netlist's parameters
    netlist       a parametric SPICE netlist: read, flattened, parameters worked out
    table         a TOML file, key by key, each mistake by its key
    sheet         what SPICE cannot say: parts, tolerances, faults, checks, places, scales
    solve         a network of branches: its node voltages and currents, by nodal analysis or by ngspice
    circuit       netlist and sheet together, states and parameters applied, as a network
    template      a circuit of one's own begun as a copy of another

What could be, and what would be seen:

    scenario      states, checks, faults and tolerance samples as arrays of parameter changes
    reading       needle positions and meter readings out of a solution
    transient     needles and regulator against time after a change of state
    sweep         every fault in turn: the table of signatures
    review        a circuit of one's own: what is missing in it or suspicious

What to do:

    case          a complaint and what has been seen, as a person writes it
    evidence      words and numbers as likelihoods
    diagnose      faults ranked, grouped and explained
    plan          the next check and the tree, with labour
    conversation  what is asked of the person at the gauge, understood and kept
    records       finished cases kept, and how often which part had failed in them
    evaluate      how good the two above are on generated cases
    fit           a gauge and sender from a few measured points
    practice      hidden faults and worksheets

How it is told:

    describe      one circuit as a card for the wall
    draw          pictures
    report        one page that needs nothing else
    cli           the command
"""

__version__ = "0.1.0"
