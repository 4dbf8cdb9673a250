(() => {
  const data = JSON.parse(document.getElementById("data").textContent);
  const { standing, normal, cost, wouldBurn } = reckoning(data);
  // what was answered, mended and proven, in order; notes; own names by what they stand for
  let taps = [];
  let notes = "";
  const own = new Map();
  let chosen = null;
  // faults that are listed; outcomes less likely than this stand folded away
  const SHOWN = 5;
  const RARE = 0.02;
  // movements less likely than this are not listed
  const LEAST_TOLD = 0.005;
  // a fault that an answer leaves less likely is not told, nor one whose odds it raises by less
  const FIRST = 0.1;
  const SPEAKS = 1.5;
  // a number is typed in one of these units, and lies between two ends
  const UNITS = {
    needle: { units: [["% of the scale", 0.01]], ends: [-50, 150], example: "35" },
    volts: { units: [["V", 1], ["mV", 0.001]], ends: [-60, 60], example: "12.4" },
    ohms: { units: [["ohm", 1], ["kilohm", 1000]], ends: [0, 4e7], example: "68" },
  };
  // pixels to a unit of the wiring, so that its letters are 14 pixels
  const SCALE = 14 / 6.5;

  const byId = (id) => document.getElementById(id);

  function make(tag, text, name) {
    const element = document.createElement(tag);
    if (text !== undefined) element.textContent = text;
    if (name) element.className = name;
    return element;
  }

  function button(text, act) {
    const element = make("button", text);
    element.type = "button";
    element.addEventListener("click", act);
    return element;
  }

  function percent(p) {
    if (p > 0 && p < 0.005) return "<1\u00a0%";
    if (p >= 0.995 && p < 1) return ">99\u00a0%";
    return Math.round(100 * p) + "\u00a0%";
  }

  function minutesOf(value) {
    return value > 0 && value < 0.5 ? Math.round(60 * value) + "\u00a0s" : Math.round(10 * value) / 10 + "\u00a0min";
  }

  // ---- own names ----

  // the text with a person's own name behind each point and wire that it names
  function named(text) {
    const words = [...own.keys()].filter((name) => own.get(name)).sort((a, b) => b.length - a.length);
    if (!words.length) return text;
    const plain = words.map((name) => name.replace(/[.*+?^${}()|[\]\\]/g, "\\$&"));
    // a longer word that begins or ends alike is another thing
    const pattern = new RegExp("(^|[^\\p{L}])(" + plain.join("|") + ")(?!\\p{L})", "gu");
    return text.replace(pattern, (all, before, name) => before + name + " [" + own.get(name) + "]");
  }

  function showNames() {
    const fields = data.names.map(({ words }, k) => {
      const row = make("p", undefined, "row");
      const label = make("label", words);
      const field = make("input");
      label.htmlFor = field.id = "name-" + k;
      field.maxLength = 60;
      field.autocomplete = "off";
      field.value = own.get(words) || "";
      field.addEventListener("input", () => {
        own.set(words, plainLine(field.value));
        show();
      });
      row.append(label, field);
      return row;
    });
    byId("names").replaceChildren(...fields);
  }

  // ---- what the browser keeps, and what the case file says of it ----

  const KEY = "gaugesim " + data.key;

  // one line without anything that acts
  function plainLine(text) {
    return text.replace(/[\u0000-\u001f\u007f-\u009f\u2028\u2029]+/g, " ").trim();
  }

  function keep() {
    const told = taps.map((tap) => {
      if (tap.proof !== undefined) return { proof: tap.proof };
      if (tap.repair !== undefined) return { repair: data.repairs[tap.repair].part, cured: tap.cured };
      const check = data.checks[tap.check];
      if (tap.number !== undefined) return { check: check.id, number: tap.number };
      return { check: check.id, outcome: check.outcomes[tap.outcome].words };
    });
    try {
      localStorage.setItem(KEY, JSON.stringify({ taps: told, notes, names: [...own] }));
      tellKept("Kept in this browser.");
    } catch {
      tellKept("This browser keeps nothing: copy the case file out before you close the page.");
    }
  }

  function tellKept(text) {
    if (byId("kept").textContent !== text) byId("kept").textContent = text;
  }

  function recall() {
    let kept = null;
    try {
      kept = JSON.parse(localStorage.getItem(KEY));
    } catch {
      return;
    }
    if (!kept) return;
    notes = String(kept.notes || notes);
    for (const [words, name] of kept.names || []) own.set(words, plainLine(String(name)));
    for (const told of kept.taps || []) {
      const tap = understood(told);
      if (!tap) break; // made by another version of the page
      taps.push(tap);
    }
  }

  function understood(told) {
    if (told.proof !== undefined) {
      const { cure } = standing(taps);
      return cure && cure.proof[told.proof] ? { proof: told.proof } : null;
    }
    if (told.repair !== undefined) {
      const repair = data.repairs.findIndex((one) => one.part === told.repair);
      return repair < 0 ? null : { repair, cured: told.cured === true };
    }
    const check = data.checks.findIndex((one) => one.id === told.check);
    if (check < 0) return null;
    if (told.number !== undefined) return data.checks[check].number ? { check, number: Number(told.number) } : null;
    const outcome = data.checks[check].outcomes.findIndex((one) => one.words === told.outcome);
    return outcome < 0 ? null : { check, outcome };
  }

  // notes and names stand in a case file as lines of their own, and are read from there
  const NOTE = "# note: ";
  const nameLine = (words) => "# " + words + " is: ";
  function readCase() {
    const lines = data.case.split("\n").filter((line) => {
      if (line.startsWith(NOTE)) {
        notes += (notes && "\n") + line.slice(NOTE.length);
        return false;
      }
      const entry = data.names.find(({ words }) => line.startsWith(nameLine(words)));
      if (entry) own.set(entry.words, plainLine(line.slice(nameLine(entry.words).length)));
      return !entry;
    });
    return lines.join("\n").trimEnd() + "\n";
  }
  const written = readCase();

  function entryOf({ tap, stage, cure }) {
    const at = stage > 1 ? "stage = " + stage + "\n" : "";
    if (tap.proof !== undefined) return cure.proof[tap.proof].entry + at;
    if (tap.repair !== undefined) {
      const result = tap.cured ? "cured" : "no_change";
      return "[[replaced]]\npart = \"" + data.repairs[tap.repair].part + "\"\nresult = \"" + result + "\"\n" + at;
    }
    const check = data.checks[tap.check];
    if (tap.number !== undefined) return check.number.entry + tap.number + "\n" + at;
    return check.outcomes[tap.outcome].entry + at;
  }

  function caseText(now) {
    const said = [...own].filter((entry) => entry[1]).map(([words, name]) => nameLine(words) + name);
    said.push(...notes.split("\n").map(plainLine).filter(Boolean).map((line) => NOTE + line));
    const own_lines = said.length ? [said.join("\n") + "\n"] : [];
    return [written, ...now.steps.map(entryOf), ...own_lines].join("\n");
  }

  // ---- what is shown ----

  // what circuits share is one fault
  function leading(probability) {
    const found = new Map();
    probability.forEach((p, i) => {
      const suspect = data.suspects[i];
      if (!found.has(suspect.fault)) found.set(suspect.fault, { suspect, p: 0 });
      found.get(suspect.fault).p += p;
    });
    return [...found.values()].sort((a, b) => b.p - a.p);
  }

  function suspectItem(p, words, more) {
    const item = make("li");
    item.append(make("span", percent(p), "odds"), make("span", named(words)));
    for (const text of more) if (text) item.append(make("span", text, "more"));
    const bar = make("meter");
    bar.min = 0;
    bar.max = 1;
    bar.value = p;
    bar.setAttribute("aria-hidden", "true");
    item.append(bar);
    return item;
  }

  function showSuspects(now) {
    byId("ranking").hidden = Boolean(now.cure);
    const ranked = leading(now.probability);
    const none = ranked.find((entry) => entry.suspect.fault === "none_of_these");
    // it comes last, unless it is the likeliest
    const listed = ranked[0] === none ? ranked : ranked.filter((entry) => entry !== none);
    const shown = listed.slice(0, SHOWN);
    const rest = listed.slice(SHOWN).reduce((sum, entry) => sum + entry.p, 0);
    const items = shown.map(({ suspect, p }) => suspectItem(p, suspect.words, [suspect.place]));
    if (rest > 0) items.push(suspectItem(rest, "all others together", []));
    if (listed !== ranked) items.push(suspectItem(none.p, none.suspect.words, []));
    byId("suspects").replaceChildren(...items);
    const movements = new Map();
    data.suspects.forEach((suspect, i) => {
      if (suspect.circuit) movements.set(suspect.circuit, (movements.get(suspect.circuit) || 0) + now.probability[i]);
    });
    byId("movements").hidden = movements.size < 2;
    const told = [...movements].filter((entry) => entry[1] >= LEAST_TOLD);
    const rows = told.sort((a, b) => b[1] - a[1]).map(([words, p]) => suspectItem(p, words, []));
    byId("circuits").replaceChildren(...rows);
    byId("status").textContent = "Likeliest now: " + named(ranked[0].suspect.words) + ", " + percent(ranked[0].p) + ".";
  }

  function chance(check, outcome, probability) {
    const row = data.checks[check].likelihood[outcome];
    return probability.reduce((sum, p, i) => sum + p * row[i], 0);
  }

  function whatThen(check, outcome, probability) {
    const row = data.checks[check].likelihood[outcome];
    const known = (list) => list.filter(({ suspect }) => suspect.fault !== "none_of_these");
    const [first] = known(leading(normal(probability.map((p, i) => p * row[i]))));
    if (!first || first.p < FIRST) return "nothing stands out yet";
    const before = known(leading(probability)).find(({ suspect }) => suspect.fault === first.suspect.fault).p;
    if (first.p * (1 - before) < SPEAKS * before * (1 - first.p)) return "little changes";
    return "then " + percent(first.p) + ": " + named(first.suspect.words);
  }

  function tell(tap) {
    taps.push(tap);
    chosen = null;
    show();
    byId("next-title").focus();
  }

  function answer(check, outcome, probability) {
    const told = button(data.checks[check].outcomes[outcome].words, () => tell({ check, outcome }));
    told.dataset.outcome = String(outcome);
    told.append(make("span", whatThen(check, outcome, probability), "then"));
    return told;
  }

  function answers(check, probability) {
    const group = make("div", undefined, "outcomes");
    group.setAttribute("role", "group");
    group.setAttribute("aria-label", "What was seen");
    const rare = make("div", undefined, "outcomes");
    data.checks[check].outcomes.forEach((_, k) => {
      (chance(check, k, probability) < RARE ? rare : group).append(answer(check, k, probability));
    });
    if (rare.childElementCount) {
      const more = make("details");
      more.append(make("summary", "Something else was seen"), rare);
      group.append(more);
    }
    return group;
  }

  // what a person typed, null where it is no number between the ends
  function typed(text, kind) {
    const plain = text.trim().replace(",", ".");
    const value = /^[-+]?(\d+\.?\d*|\.\d+)$/.test(plain) ? Number(plain) : NaN;
    const [low, high] = UNITS[kind].ends;
    return value >= low && value <= high ? value : null;
  }

  function figures(check) {
    const { kind } = data.checks[check].number;
    const { units, ends, example } = UNITS[kind];
    const form = make("div", undefined, "figures");
    const label = make("label", "Or as a number");
    const field = make("input");
    label.htmlFor = field.id = "figure";
    field.inputMode = "decimal";
    field.autocomplete = "off";
    const unit = make(units.length > 1 ? "select" : "span");
    unit.setAttribute("aria-label", "Unit");
    if (units.length > 1) unit.append(...units.map(([words]) => make("option", words)));
    else unit.textContent = units[0][0];
    const wrong = make("p", undefined, "wrong");
    wrong.setAttribute("role", "alert");
    const enter = () => {
      const value = typed(field.value, kind);
      if (value === null) {
        wrong.textContent = "A number from " + ends[0] + " to " + ends[1] + " is meant, such as " + example + ".";
        field.focus();
        return;
      }
      tell({ check, number: Number((value * units[unit.selectedIndex || 0][1]).toPrecision(12)) });
    };
    field.addEventListener("keydown", (event) => { if (event.key === "Enter") enter(); });
    form.append(label, field, unit, button("Enter", enter), wrong);
    return form;
  }

  // their names in one line, which opens to all that they say
  function showCautions(place, texts) {
    if (!texts.length) return;
    const more = make("details", undefined, "beware");
    const list = make("ul", undefined, "cautions");
    list.append(...texts.map((text) => make("li", text)));
    more.append(make("summary", texts.map((text) => data.short[text] || text).join("; ")), list);
    place.append(more);
  }

  function showProof(place, cure) {
    const seen = new Set(taps.filter((tap) => tap.proof !== undefined).map((tap) => tap.proof));
    place.append(make("p", "Mended: " + named(cure.words.split(": ")[0]) + ".", "do"));
    const next = cure.proof.findIndex((_, k) => !seen.has(k));
    if (next < 0) {
      place.append(make("p", "It is proven: the job is done.", "do"));
    } else {
      const { state, needle, cautions } = cure.proof[next];
      showCautions(place, cautions);
      place.append(make("p", "To prove it, " + state + ": the needle must now be " + needle + ".", "do"));
      const group = make("div", undefined, "outcomes");
      group.append(button("It is", () => tell({ proof: next })));
      // a repair of the page's own that is not proven was not the cure
      const repair = taps.findLastIndex((tap) => tap.repair !== undefined && tap.cured);
      if (repair >= 0) {
        group.append(button("It is not: then it is not cured", () => {
          taps = taps.slice(0, repair);
          tell({ repair: data.repairs.indexOf(cure), cured: false });
        }));
      }
      if (repair < 0) group.append(make("p", "If it is not, that was not the cure: take it out of the case file.", "cost"));
      place.append(group);
    }
    if (cure.watch) place.append(make("p", cure.watch, "cost"));
  }

  function showCheck(now) {
    const place = byId("next");
    place.replaceChildren();
    byId("answers").replaceChildren();
    const check = chosen !== null ? chosen : now.next;
    byId("where").hidden = check < 0 || !data.checks[check].picture;
    byId("others").hidden = Boolean(now.cure);
    byId("next-title").textContent = now.cure ? "Proof" : "Next check";
    if (now.cure) {
      showProof(place, now.cure);
      return;
    }
    if (check < 0) {
      const mend = now.mend ? "Mend this: " + now.mend : "Mend the likeliest fault";
      place.append(make("p", "No check tells more. " + named(mend) + ", then prove that it was the one."));
      showCautions(place, now.beware);
      return;
    }
    if (now.mend) {
      place.append(make("p", "Quickest is to mend this at once: " + named(now.mend) + ".", "do"));
      showCautions(place, now.beware);
      place.append(make("p", "If you would rather check first:", "cost"));
    }
    const told = data.checks[check];
    showCautions(place, told.cautions);
    place.append(make("p", named(told.words) + ".", "do"));
    const unsaid = told.marks.map(nameOf).filter((words) => own.get(words) && !told.words.includes(words));
    if (unsaid.length) place.append(make("p", "Here: " + [...new Set(unsaid)].map(named).join("; ") + ".", "cost"));
    place.append(make("p", "State: " + told.state + ".", "cost"));
    const opens = told.places.filter((k) => !now.opened.has(k) && data.places[k].minutes > 0);
    let text = minutesOf(cost(told, now.opened));
    if (opens.length) text += ", the way in included: " + opens.map((k) => data.places[k].words).join("; ");
    if (told.order && opens.length) place.append(make("p", named(told.order), "cost"));
    place.append(make("p", "Takes " + text + ".", "cost"));
    place.append(make("p", "When all is sound: " + told.sound + ".", "sound"));
    byId("answers").append(make("p", "What was seen?", "cost"), answers(check, now.probability));
    if (told.number) byId("answers").append(figures(check));
    showMarks(told);
  }

  function showOthers(now) {
    const first = make("option", "choose a check to make instead");
    first.value = "";
    const others = [];
    data.checks.forEach((told, check) => {
      if (now.done.includes(check) || wouldBurn(check, now.probability)) return;
      const option = make("option", minutesOf(cost(told, now.opened)) + ": " + named(told.words) + " (" + told.state + ")");
      option.value = String(check);
      option.selected = check === chosen;
      others.push(option);
    });
    byId("other").replaceChildren(first, ...others);
  }

  function wordsOf({ tap, cure }) {
    if (tap.proof !== undefined) return cure.proof[tap.proof].state + ": needle " + cure.proof[tap.proof].needle + ", as it must be";
    if (tap.repair !== undefined) return "Mended " + data.repairs[tap.repair].words + ": " + (tap.cured ? "cured" : "not yet");
    const check = data.checks[tap.check];
    return check.words + " (" + check.state + "): " + (tap.number === undefined ? check.outcomes[tap.outcome].words : figureWords(tap));
  }

  function figureWords({ check, number }) {
    const { kind } = data.checks[check].number;
    if (kind === "needle") return "needle at " + Number((100 * number).toPrecision(3)) + "\u00a0% of the scale";
    return number + "\u00a0" + UNITS[kind].units[0][0];
  }

  function showLog(now) {
    byId("clock").textContent = taps.length ? minutesOf(now.minutes) + " so far." : "Nothing yet.";
    byId("log").replaceChildren(...now.steps.map((step) => make("li", named(wordsOf(step)) + (step.spent ? "; " + minutesOf(step.spent) : ""))));
    byId("undo").disabled = taps.length === 0;
    byId("case").value = caseText(now);
    byId("case-print").textContent = byId("case").value;
    byId("copied").textContent = "";
  }

  function showMending(now) {
    byId("mending").hidden = Boolean(now.cure) || !data.repairs.length;
    const before = byId("repair").value;
    const first = make("option", "choose what was mended");
    first.value = "";
    const choices = data.repairs.map(({ words }, k) => {
      const option = make("option", named(words));
      option.value = String(k);
      option.selected = String(k) === before;
      return option;
    });
    byId("repair").replaceChildren(first, ...choices);
    showRepair();
  }

  function showRepair() {
    const chosenRepair = byId("repair").value;
    byId("beware").replaceChildren();
    if (chosenRepair !== "") showCautions(byId("beware"), data.repairs[Number(chosenRepair)].cautions);
    byId("cured").disabled = byId("not-yet").disabled = chosenRepair === "";
  }

  function mended(cured) {
    const repair = Number(byId("repair").value);
    byId("repair").value = "";
    tell({ repair, cured });
  }

  // ---- the wiring ----

  const SVG = "http://www.w3.org/2000/svg";

  function label(x, y, text, name) {
    const element = document.createElementNS(SVG, "text");
    element.setAttribute("x", x);
    element.setAttribute("y", y);
    element.setAttribute("class", name);
    element.textContent = text;
    return element;
  }

  const pictures = [...document.querySelectorAll(".picture")];
  for (const picture of pictures) {
    const svg = picture.firstElementChild;
    svg.setAttribute("width", svg.viewBox.baseVal.width * SCALE);
    svg.setAttribute("height", svg.viewBox.baseVal.height * SCALE);
  }

  const placeOf = (picture, { point, number }) =>
    picture.querySelector(point ? `.point[data-node="${number}"]` : `.part[data-branch="${number}"]`);

  // what a marked point or wire is called
  function nameOf({ point, number }) {
    const entry = data.names.find((one) => one.point === point && one.number === number);
    return entry ? entry.words : "";
  }

  function showMarks(told) {
    for (const old of document.querySelectorAll(".mark, .own")) old.remove();
    for (const old of document.querySelectorAll(".marked")) old.classList.remove("marked");
    const said = told.marks.map((one) => [one.words, nameOf(one)]).filter(([, words]) => words);
    byId("marked").textContent = said.map(([what, words]) => what + ": " + named(words)).join("; ");
    for (const picture of pictures) {
      picture.hidden = picture.dataset.picture !== told.picture;
      if (!picture.hidden) mark(picture, told.marks);
    }
    focusMarks();
  }

  function mark(picture, marks) {
    for (const entry of data.names) {
      const place = own.get(entry.words) && placeOf(picture, entry);
      const text = place && [...place.querySelectorAll("text")].pop();
      if (!text) continue;
      const name = document.createElementNS(SVG, "tspan");
      name.setAttribute("class", "own");
      name.textContent = " [" + own.get(entry.words) + "]";
      text.append(name);
    }
    for (const one of marks) {
      const place = placeOf(picture, one);
      if (!place || place.classList.contains("marked")) continue;
      const here = marks.filter((other) => placeOf(picture, other) === place).map(({ words }) => words);
      place.classList.add("marked");
      const ring = place.querySelector(one.point ? "circle:last-of-type" : "rect").cloneNode();
      ring.setAttribute("class", "mark");
      if (one.point) ring.setAttribute("r", 6);
      // at the right end of the branch's column, where nothing else is written
      const [x, y, right, down] = one.point
        ? ["cx", "cy", 89, 3]
        : ["x", "y", Number(ring.getAttribute("width")) - 1, Number(ring.getAttribute("height")) + 7];
      const at = [Number(ring.getAttribute(x)) + right, Number(ring.getAttribute(y)) + down];
      place.append(ring, label(...at, [...new Set(here)].join(", "), "mark words"));
    }
  }

  // the branch in question in the middle
  function focusMarks() {
    const place = document.querySelector(".picture:not([hidden]) .marked");
    const frame = byId("wiring");
    if (!place || !byId("where").open) return;
    const [at, around] = [place.getBoundingClientRect(), frame.getBoundingClientRect()];
    frame.scrollLeft += at.left + at.width / 2 - around.left - around.width / 2;
    frame.scrollTop += at.top + at.height / 2 - around.top - around.height / 2;
  }

  function show() {
    const now = standing(taps);
    showSuspects(now);
    showCheck(now);
    showOthers(now);
    showLog(now);
    showMending(now);
    keep();
  }

  byId("where").addEventListener("toggle", focusMarks);
  byId("undo").addEventListener("click", () => {
    taps.pop();
    chosen = null;
    show();
    byId("next-title").focus();
  });
  byId("other").addEventListener("change", (event) => {
    chosen = event.target.value === "" ? null : Number(event.target.value);
    show();
  });
  byId("repair").addEventListener("change", showRepair);
  byId("cured").addEventListener("click", () => mended(true));
  byId("not-yet").addEventListener("click", () => mended(false));
  byId("notes").addEventListener("input", (event) => {
    notes = event.target.value;
    showLog(standing(taps));
    keep();
  });
  byId("forget").addEventListener("click", () => {
    if (!window.confirm("Forget all answers, notes and names on this page?")) return;
    taps = [];
    notes = "";
    own.clear();
    readCase();
    begin();
  });
  byId("copy").addEventListener("click", () => {
    byId("case").focus();
    byId("case").select();
    // where the browser does not let a page copy, the text is marked and the person copies it
    const done = document.execCommand("copy");
    byId("copied").textContent = done ? "Copied." : "Marked: copy it now.";
  });

  function begin() {
    byId("notes").value = notes;
    showNames();
    show();
  }
  recall();
  begin();
  // where the job stands, for other programs
  window.jobPage = { standing: (after = taps) => standing(after) };
})();
