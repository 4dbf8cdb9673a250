"use strict";
// Before this stand PARAMETERS, ELEMENTS and SETTINGS: the netlist's own expressions.
const bench = (() => {
  const data = JSON.parse(document.getElementById("data").textContent);
  const ground = data.nodes.length - 1;
  const find = (id) => document.getElementById(id);
  const all = (query) => [...document.querySelectorAll(query)];
  const setting = { state: data.state, given: {}, faults: [], red: null, black: null };
  let touch = "part";
  let chosen = "";

  // ---- what the circuit is at this setting ----

  function parameters(wrong) {
    const known = { ...data.states.find((one) => one.id === setting.state).set, ...setting.given };
    const look = () => {
      const kept = { ...known };
      const v = (key) => (key in kept ? kept[key] : (kept[key] = PARAMETERS[key](v)));
      return v;
    };
    const sound = look();
    for (const { fault, x } of wrong) {
      const v = look();
      const changed = Object.entries(SETTINGS[fault.id] || {}).map(([name, work]) => [name, work(v, x)]);
      Object.assign(known, Object.fromEntries(changed));
    }
    return { sound, faulty: look() };
  }

  function resistance([law, fixed], x, before) {
    return { open: Infinity, is: x, times: before * x, plus: before + x, fixed }[law];
  }

  function network(wrong) {
    const { sound, faulty } = parameters(wrong);
    const kinds = data.kinds;
    const value = ELEMENTS.map((work) => work(faulty));
    const moved = ELEMENTS.map((work, k) => work(sound) !== value[k]);
    const ohms = value.map((one, k) => {
      if (kinds[k] !== "r") return kinds[k] === "c" || kinds[k] === "i" ? Infinity : 0;
      return moved[k] && one >= data.open ? Infinity : one; // as a fault an open is exact
    });
    const before = ELEMENTS.map((work, k) => (kinds[k] === "r" ? work(sound) : 0));
    const net = {
      ends: data.ends.map((pair) => [...pair]),
      ohms,
      volts: value.map((one, k) => (kinds[k] === "v" ? one : 0)),
      amperes: value.map((one, k) => (kinds[k] === "i" ? one : null)),
    };
    const turns = {}, strength = {}, stuck = {};
    const changed = new Map();
    for (const { fault, x } of wrong) {
      for (const [k, ...law] of fault.does.branches || []) changed.set(k, resistance(law, x, value[k]));
      for (const [a, b, ...law] of fault.does.paths || []) add(net, a, b, resistance(law, x, 0));
      for (const k of fault.does.turns || []) turns[k] = x;
      for (const gauge of fault.does.weak || []) strength[gauge] = x;
      for (const gauge of fault.does.stuck || []) stuck[gauge] = x;
    }
    for (const [k, r] of changed) if (r !== 0) net.ohms[k] = r;
    // a dead short between what dead shorts have joined already makes no difference
    const joined = islands(net, (k) => net.ohms[k] === 0 && net.volts[k] === 0);
    for (const [k, r] of changed) {
      const [a, b] = net.ends[k].map((node) => root(joined, node));
      if (r === 0 && a !== b) { net.ohms[k] = 0; joined[a] = b; }
    }
    let meter = null;
    if (setting.red !== null && setting.black !== null && setting.red !== setting.black) {
      meter = add(net, setting.red, setting.black, data.meter);
    }
    return { net, before, turns, strength, stuck, meter, v: faulty };
  }

  function add(net, a, b, r) {
    net.ends.push([a, b]);
    net.ohms.push(r);
    net.volts.push(0);
    net.amperes.push(null);
    return net.ohms.length - 1;
  }

  function root(parent, node) {
    while (parent[node] !== node) node = parent[node];
    return node;
  }

  function islands(net, conducts) {
    const parent = data.nodes.map((_, node) => node);
    net.ends.forEach(([a, b], k) => { if (conducts(k)) parent[root(parent, a)] = root(parent, b); });
    return parent;
  }

  // ---- its voltages and currents: Kirchhoff's laws, node by node and branch by branch ----

  function solve(net, ohms) {
    const n = ground, m = net.ends.length, size = n + m, wide = size + 1;
    const rows = Array.from({ length: size }, () => new Float64Array(wide));
    const parent = islands({ ends: net.ends }, (k) => Number.isFinite(ohms[k]) && net.amperes[k] === null);
    const grounded = root(parent, ground);
    net.ends.forEach(([a, b], k) => {
      const own = rows[n + k];
      if (a !== ground) rows[a][n + k] += 1;
      if (b !== ground) rows[b][n + k] -= 1;
      if (net.amperes[k] !== null || !Number.isFinite(ohms[k])) {
        own[n + k] = 1;
        own[size] = net.amperes[k] || 0;
        return;
      }
      const scale = 1 / Math.max(1, ohms[k]);
      if (a !== ground) own[a] += scale;
      if (b !== ground) own[b] -= scale;
      own[n + k] = -ohms[k] * scale;
      own[size] = net.volts[k] * scale;
    });
    // an island without ground floats: tie one of its nodes, no current can flow in the tie
    for (let node = 0; node < n; node++) {
      if (parent[node] === node && node !== grounded) rows[node][node] += 1;
    }
    for (let c = 0; c < size; c++) {
      let best = c;
      for (let r = c + 1; r < size; r++) if (Math.abs(rows[r][c]) > Math.abs(rows[best][c])) best = r;
      [rows[c], rows[best]] = [rows[best], rows[c]];
      const pivot = rows[c];
      for (let r = c + 1; r < size; r++) {
        const row = rows[r], factor = row[c] / pivot[c];
        if (factor !== 0) for (let j = c; j < wide; j++) row[j] -= factor * pivot[j];
      }
    }
    const x = new Float64Array(size);
    for (let r = size - 1; r >= 0; r--) {
      let sum = rows[r][size];
      for (let j = r + 1; j < size; j++) sum -= rows[r][j] * x[j];
      x[r] = sum / rows[r][r];
    }
    const volts = data.nodes.map((_, node) => {
      if (node === ground) return 0;
      return root(parent, node) === grounded ? x[node] : NaN;
    });
    return { volts, amperes: [...x.slice(n)] };
  }

  function work(wrong = setting.faults) {
    const made = network(wrong), { net, v } = made, unit = data.regulator;
    const phases = [solve(net, net.ohms)];
    let duty = 1;
    if (unit) {
      const open = [...net.ohms];
      open[unit.contact] = Infinity;
      phases.push(solve(net, open));
      const power = unit.mean || unit.dropout ? 1 : 2;
      const [on, off] = phases.map((one) => Math.abs(one.amperes[unit.heater] * made.before[unit.heater]) ** power);
      const design = (unit.dropout ? Math.min(v(unit.design), on - v(unit.dropout)) : v(unit.design)) ** power;
      const lost = unit.dropout && Math.abs(on - off) < data.rounding;
      duty = lost || on <= design ? 1 : off >= design ? 0 : (design - off) / (on - off);
      if (unit.dropout) {
        // it does not pulse: one solution between the two
        const [full, none] = phases.splice(0, 2), between = (one, other) => one.map((each, k) => duty * each + (1 - duty) * other[k]);
        phases.push({ volts: between(full.volts, none.volts), amperes: between(full.amperes, none.amperes) });
      }
    }
    const mean = (pick) => (phases.length === 1 ? pick(phases[0]) : duty * pick(phases[0]) + (1 - duty) * pick(phases[1]));
    const shares = phases.length === 1 || duty === 1 ? [phases[0]] : duty === 0 ? [phases[1]] : phases;
    const volts = data.nodes.map((_, node) => (shares.length === 1 ? shares[0].volts[node] : mean((one) => one.volts[node])));
    const amperes = net.ends.map((_, k) => mean((one) => one.amperes[k]));
    const needles = Object.fromEntries(data.gauges.map((gauge) => [gauge.id, position(gauge, made, mean)]));
    const truths = Object.fromEntries(data.gauges.map((gauge) => [gauge.id, truth(gauge, v(gauge.reads))]));
    let reading = null;
    if (made.meter !== null) {
      const ends = phases.map((one) => one.amperes[made.meter] * data.meter);
      const pulses = duty < 1 && Math.abs(ends[0] - ends[ends.length - 1]) > data.pulse;
      reading = { volts: mean((one) => one.amperes[made.meter] * data.meter), pulses };
    }
    return { volts, amperes, needles, truths, reading, duty, ohms: net.ohms, v };
  }

  const between = (value, [low, high]) => Math.min(Math.max(value, low), high);

  function position(gauge, made, mean) {
    if (gauge.id in made.stuck) return made.stuck[gauge.id];
    const strength = made.strength[gauge.id] ?? 1;
    const current = (k) => mean((one) => one.amperes[k]) * (made.turns[k] ?? 1) * strength;
    if (!gauge.coils.length) {
      const k = gauge.element, ohms = Number.isFinite(made.net.ohms[k]) ? made.net.ohms[k] : 0;
      const left = gauge.heats ? ohms : (made.turns[k] ?? 1) ** gauge.power;
      const drive = mean((one) => one.amperes[k] ** gauge.power) * left * strength;
      return between((drive - gauge.low) / (gauge.high - gauge.low), gauge.stops);
    }
    let [x, y] = gauge.rest;
    for (const [k, turns, degrees] of gauge.coils) {
      x += current(k) * turns * Math.cos((degrees * Math.PI) / 180);
      y += current(k) * turns * Math.sin((degrees * Math.PI) / 180);
    }
    if (Math.hypot(x, y) < gauge.friction) return null;
    // the way round that stays nearest to the middle of the scale
    const middle = (gauge.low + gauge.high) / 2;
    const away = ((((Math.atan2(y, x) * 180) / Math.PI - middle + 180) % 360) + 360) % 360 - 180;
    return between(0.5 + away / (gauge.high - gauge.low), gauge.stops);
  }

  function truth(gauge, value) {
    const marks = [...gauge.marks].sort((a, b) => a[0] - b[0]);
    if (marks.length < 2) return null;
    if (value <= marks[0][0]) return marks[0][1];
    for (let k = 1; k < marks.length; k++) {
      const [[a, p], [b, q]] = [marks[k - 1], marks[k]];
      if (value <= b) return p + ((value - a) / (b - a)) * (q - p);
    }
    return marks[marks.length - 1][1];
  }

  // ---- what is seen ----

  function figure(value, unit) {
    const size = Math.abs(value);
    if (!(size < data.open)) return "open";
    if (size === 0) return `0 ${unit}`;
    const [factor, prefix] = [[1e-6, "µ"], [1e-3, "m"], [1, ""], [1e3, "k"], [1e6, "M"]].find((one) => size < 999.5 * one[0]) || [1e6, "M"];
    return `${Number((value / factor).toPrecision(3))} ${prefix}${unit}`;
  }

  const voltsText = (volts) => (Number.isNaN(volts) ? "no voltage" : `${(Math.round(volts * 100) / 100 + 0).toFixed(2)} V`);
  const turn = (place) => `rotate(${90 * (place - 0.5)})`;

  function draw() {
    const seen = work();
    const sound = setting.faults.length ? work([]) : seen;
    for (const gauge of data.gauges) {
      const place = seen.needles[gauge.id];
      for (const line of all(`[data-needle="${gauge.id}"]`)) {
        line.style.visibility = place === null ? "hidden" : "visible";
        line.setAttribute("transform", turn(place ?? 0.5));
      }
      for (const ring of all(`[data-truth="${gauge.id}"]`)) ring.setAttribute("transform", turn(seen.truths[gauge.id] ?? 0.5));
      const word = place === null ? "undriven" : data.words[gauge.limits.filter((limit) => limit < place).length];
      find(`word-${gauge.id}`).textContent = data.spoken[word] + (place === null ? "" : `, ${place.toFixed(2)}`);
    }
    const lively = (node) => Math.abs(seen.volts[node]) > 0.05;
    const flows = (k) => Math.abs(seen.amperes[k]) > 1e-5;
    // the way of a current that flows the other way when all is sound
    const back = (k) => flows(k) && seen.amperes[k] * sound.amperes[k] < 0 && Math.abs(seen.amperes[k]) > 0.05 * Math.abs(sound.amperes[k]);
    for (const text of all("[data-volts]")) {
      const volts = seen.volts[text.dataset.volts];
      text.textContent = voltsText(volts);
      text.classList.toggle("faint", Number.isNaN(volts) || !lively(text.dataset.volts));
    }
    for (const text of all("[data-amperes]")) {
      const down = seen.amperes[text.dataset.amperes] * text.dataset.sign;
      const none = !flows(text.dataset.amperes);
      const backwards = back(text.dataset.amperes) ? " backwards" : "";
      text.textContent = none ? "no current" : `${down > 0 ? "↓" : "↑"} ${figure(Math.abs(down), "A")}${backwards}`;
      text.classList.toggle("faint", none);
    }
    const look = (line, alive, idle) => {
      line.classList.toggle("idle", !alive && idle);
      line.classList.toggle("dead", !alive && !idle);
    };
    for (const line of all("[data-lead]")) {
      const k = line.dataset.lead;
      look(line, flows(k), data.ends[k].some(lively));
      line.classList.toggle("back", back(k));
    }
    for (const line of all("[data-bar]")) {
      const node = Number(line.dataset.bar);
      look(line, data.ends.some((pair, k) => pair.includes(node) && flows(k)), lively(node));
    }
    for (const text of all("[data-value]")) {
      const k = text.dataset.value;
      text.textContent = data.kinds[k] === "v" ? figure(ELEMENTS[k](seen.v), "V") : figure(seen.ohms[k], "Ω");
    }
    const bad = new Set(setting.faults.flatMap(({ fault }) => [fault.element, ...(fault.does.branches || []).map(([k]) => k)]));
    const own = new Set(data.faults.filter((fault) => fault.part === chosen).map((fault) => fault.element));
    for (const part of all(".part")) {
      part.classList.toggle("faulty", bad.has(Number(part.dataset.branch)));
      part.classList.toggle("chosen", own.has(Number(part.dataset.branch)));
    }
    for (const point of all(".point")) {
      for (const probe of ["red", "black"]) point.classList.toggle(probe, setting[probe] === Number(point.dataset.node));
    }
    const turned = data.branches.filter((_, k) => back(k));
    find("back").textContent = turned.length ? `Current backwards through ${turned.join(", ")}.` : "";
    const missing = ["red", "black"].filter((probe) => setting[probe] === null);
    const called = (node) => data.names[node] || data.nodes[node].replaceAll("_", " ");
    find("meter").textContent = seen.reading
      ? `${voltsText(seen.reading.volts)}${seen.reading.pulses ? ", pulsing: its mean" : ""}, ${called(setting.red)} against ${called(setting.black)}`
      : missing.length === 2 ? "" : missing.length ? `Now put the ${missing[0]} probe.` : "Both probes are on one point.";
  }

  // ---- what a person sets ----

  function button(words, pressed, act) {
    const made = document.createElement("button");
    made.type = "button";
    made.textContent = words;
    if (pressed !== null) made.setAttribute("aria-pressed", String(pressed));
    made.addEventListener("click", act);
    return made;
  }

  function slider(id, words, low, high, value, act) {
    const label = document.createElement("label");
    const range = document.createElement("input");
    const told = document.createElement("span");
    Object.assign(range, { type: "range", min: low, max: high, step: "any", value, id });
    told.textContent = words(value);
    range.addEventListener("input", () => { act(Number(range.value)); told.textContent = words(Number(range.value)); draw(); });
    label.append(told, range);
    return label;
  }

  const atShare = ([, low, high, logarithmic], share) => (logarithmic && low > 0 ? low * (high / low) ** share : low + (high - low) * share);
  const shareOf = ([, low, high, logarithmic], x) => {
    const held = between(x, [low, high]);
    return low === high ? 0.5 : logarithmic && low > 0 ? Math.log(held / low) / Math.log(high / low) : (held - low) / (high - low);
  };
  const amount = ([kind], x) => (kind === "ohms" ? figure(x, "Ω") : kind === "factor" ? `${Number(x.toPrecision(3))} times` : String(Number(x.toPrecision(3))));

  function switches() {
    find("states").replaceChildren(...data.states.map((state) => button(state.words, state.id === setting.state, () => {
      Object.assign(setting, { state: state.id, given: {} });
      refresh();
    })));
    const state = data.states.find((one) => one.id === setting.state);
    find("cautions").replaceChildren(...state.cautions.map((words) => Object.assign(document.createElement("li"), { textContent: words })));
    const known = parameters([]).sound;
    const units = { celsius: " °C", 1: "", none: "" };
    find("process").replaceChildren(...data.process.map((one) => slider(
      `set-${one.id}`, (value) => `${one.words}: ${Number(value.toPrecision(3))}${units[one.unit] ?? ` ${one.unit}`}`,
      one.low, one.high, between(known(one.id), [one.low, one.high]), (value) => { setting.given[one.id] = value; },
    )));
  }

  function faults() {
    find("faults").replaceChildren(...setting.faults.map((entry) => {
      const item = document.createElement("li");
      item.append(button("Mend", null, () => mend(entry)), `${entry.fault.of} ${entry.fault.words}`);
      if (entry.fault.burns.length) {
        const list = document.createElement("ul");
        list.className = "cautions";
        list.append(Object.assign(document.createElement("li"), { textContent: `Not beside this, as it may burn: ${entry.fault.burns.join("; ")}.` }));
        item.append(list);
      }
      const degrees = entry.fault.degrees;
      if (degrees) {
        item.append(slider(`bad-${entry.fault.id}`, (share) => `how bad: ${amount(degrees, entry.touched ? atShare(degrees, share) : entry.x)}`,
          0, 1, shareOf(degrees, entry.x), (share) => { entry.touched = true; entry.x = atShare(degrees, share); }));
      }
      return item;
    }));
    const own = data.faults.filter((fault) => fault.part === chosen);
    find("modes").replaceChildren(...own.map((fault) => {
      const there = setting.faults.find((entry) => entry.fault === fault);
      return button(`${fault.of} ${fault.words}`, Boolean(there), () => {
        if (there) { mend(there); return; }
        // one part is not in two conditions at once
        setting.faults = setting.faults.filter((entry) => entry.fault.part !== fault.part);
        setting.faults.push({ fault, x: fault.typical });
        refresh();
      });
    }));
    find("part").value = chosen;
  }

  function mend(entry) {
    setting.faults = setting.faults.filter((one) => one !== entry);
    refresh();
  }

  function refresh() {
    switches();
    faults();
    draw();
  }

  function show(name) {
    for (const picture of all(".picture")) picture.hidden = picture.dataset.picture !== name;
    const picture = document.querySelector(`.picture[data-picture="${name}"] svg`);
    const width = picture.viewBox.baseVal.width;
    // letters of 12 pixels at least: a small screen pushes the circuit sideways
    const scale = Math.max(12 / 6.5, Math.min(2.6, (find("circuit").clientWidth - 4) / width));
    picture.setAttribute("width", width * scale);
    picture.setAttribute("height", picture.viewBox.baseVal.height * scale);
  }

  const parts = [...new Map(data.faults.map((fault) => [fault.part, fault.of]))];
  find("part").replaceChildren(new Option("choose a part", ""), ...parts.map(([part, words]) => new Option(words, part)));
  find("part").addEventListener("change", () => { chosen = find("part").value; refresh(); });
  find("picture").addEventListener("change", () => show(find("picture").value));
  for (const choice of all("[data-touch]")) {
    choice.addEventListener("click", () => {
      touch = choice.dataset.touch;
      for (const each of all("[data-touch]")) each.setAttribute("aria-pressed", String(each === choice));
      find("circuit").classList.toggle("probing", touch !== "part");
    });
  }
  find("off").addEventListener("click", () => { setting.red = setting.black = null; draw(); });
  find("circuit").addEventListener("click", (event) => {
    const point = event.target.closest(".point"), part = event.target.closest(".part");
    if (touch !== "part" && point) {
      setting[touch] = Number(point.dataset.node);
      draw();
    } else if (touch === "part" && part) {
      const k = Number(part.dataset.branch);
      const own = data.faults.find((fault) => fault.element === k) || data.faults.find((fault) => (fault.does.branches || []).some(([branch]) => branch === k));
      chosen = own ? own.part : "";
      refresh();
      find("modes").scrollIntoView({ block: "nearest" });
    }
  });
  show(find("picture").value);
  refresh();

  /** Put everything at once and say what is seen; faults are [id, severity or null]. */
  function put(state, given, wrong, red = null, black = null) {
    const node = (name) => (name === null ? null : data.nodes.indexOf(name));
    Object.assign(setting, {
      state, given, red: node(red), black: node(black),
      faults: wrong.map(([id, x]) => {
        const fault = data.faults.find((one) => one.id === id);
        return { fault, x: x ?? fault.typical };
      }),
    });
    const start = performance.now();
    refresh();
    const { needles, truths, reading } = work();
    return { needles, truths, reading, milliseconds: performance.now() - start };
  }
  return { put };
})();
