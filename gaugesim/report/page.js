"use strict";
(() => {
  const data = JSON.parse(document.getElementById("data").textContent);
  const taps = [];
  let chosen = null;
  // as in rule.py
  const NOTHING = 1e-6;
  const EQUAL = 1e-9;
  const LEAST_MINUTES = 0.1;
  // faults that are listed; outcomes less likely than this stand folded away
  const SHOWN = 5;
  const RARE = 0.02;
  // movements less likely than this are not listed
  const LEAST_TOLD = 0.005;

  const byId = (id) => document.getElementById(id);

  function make(tag, text, name) {
    const element = document.createElement(tag);
    if (text !== undefined) element.textContent = text;
    if (name) element.className = name;
    return element;
  }

  function normal(values) {
    let total = 0;
    for (const value of values) total += value;
    return total > 0 ? values.map((value) => value / total) : values.slice();
  }

  function cost(check, opened) {
    const told = data.checks[check];
    let minutes = 0;
    for (const place of told.places) if (!opened.has(place)) minutes += data.places[place].minutes;
    return told.minutes + minutes;
  }

  function bits(check, probability) {
    const modelled = normal(probability.slice(0, -1));
    let total = 0;
    for (const row of data.checks[check].likelihood) {
      let chance = 0;
      modelled.forEach((p, i) => { chance += p * row[i]; });
      if (chance <= 0) continue;
      let part = 0;
      modelled.forEach((p, i) => {
        if (p > 0 && row[i] > 0) part += p * row[i] * Math.log2(row[i] / chance);
      });
      total += part;
    }
    return total;
  }

  function nextCheck(probability, opened, done) {
    let best = -1;
    let most = 0;
    for (let check = 0; check < data.checks.length; check += 1) {
      if (done.includes(check)) continue;
      const told = bits(check, probability);
      const worth = told / Math.max(cost(check, opened), LEAST_MINUTES);
      if (told > NOTHING && worth > most * (1 + EQUAL)) {
        best = check;
        most = worth;
      }
    }
    return best;
  }

  // where the plan stands, null where it was left or ends
  function planned() {
    let plan = data.plan;
    for (const [check, outcome] of taps) {
      if (plan === null || check !== plan.check) return null;
      const then = plan.then.find((entry) => entry[0] === outcome);
      plan = then === undefined ? null : then[1];
    }
    return plan;
  }

  function standing() {
    let probability = normal(data.suspects.map((suspect) => suspect.probability));
    const opened = new Set();
    data.places.forEach((place, k) => { if (place.open) opened.add(k); });
    let minutes = 0;
    const steps = [];
    for (const [check, outcome] of taps) {
      const spent = cost(check, opened);
      minutes += spent;
      for (const place of data.checks[check].places) opened.add(place);
      const row = data.checks[check].likelihood[outcome];
      probability = normal(probability.map((p, i) => p * row[i]));
      steps.push({ check, outcome, spent });
    }
    const done = taps.map((tap) => tap[0]);
    const plan = planned();
    const next = plan === null ? nextCheck(probability, opened, done) : plan.check;
    return { probability, opened, minutes, steps, done, next, mend: plan === null ? "" : plan.mend, beware: plan === null ? [] : plan.cautions };
  }

  function percent(p) {
    if (p > 0 && p < 0.005) return "<1\u00a0%";
    if (p >= 0.995 && p < 1) return ">99\u00a0%";
    return Math.round(100 * p) + "\u00a0%";
  }

  function minutesOf(value) {
    return Math.round(10 * value) / 10 + "\u00a0min";
  }

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
    item.append(make("span", percent(p), "odds"), make("span", words));
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
    byId("status").textContent = "Likeliest now: " + ranked[0].suspect.words + ", " + percent(ranked[0].p) + ".";
  }

  function chance(check, outcome, probability) {
    const row = data.checks[check].likelihood[outcome];
    return probability.reduce((sum, p, i) => sum + p * row[i], 0);
  }

  function whatThen(check, outcome, probability) {
    const row = data.checks[check].likelihood[outcome];
    const first = leading(normal(probability.map((p, i) => p * row[i])))[0];
    return "then " + percent(first.p) + ": " + first.suspect.words;
  }

  function answer(check, outcome, probability) {
    const button = make("button", data.checks[check].outcomes[outcome].words);
    button.type = "button";
    button.dataset.outcome = String(outcome);
    button.append(make("span", whatThen(check, outcome, probability), "then"));
    button.addEventListener("click", () => {
      taps.push([check, outcome]);
      chosen = null;
      show();
      byId("next-title").focus();
    });
    return button;
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

  function showCautions(place, texts) {
    if (!texts.length) return;
    const list = make("ul", undefined, "cautions");
    for (const text of texts) list.append(make("li", text));
    place.append(list);
  }

  function showCheck(now) {
    const place = byId("next");
    place.replaceChildren();
    const check = chosen !== null ? chosen : now.next;
    if (check < 0 && data.finished.length) {
      for (const text of data.finished) place.append(make("p", text + ".", "do"));
      return;
    }
    if (check < 0) {
      const mend = now.mend ? "Mend this: " + now.mend : "Mend the likeliest fault";
      place.append(make("p", "No check tells more. " + mend + ", then prove that it was the one."));
      showCautions(place, now.beware);
      return;
    }
    if (now.mend) {
      place.append(make("p", "Quickest is to mend this at once: " + now.mend + ".", "do"));
      showCautions(place, now.beware);
      place.append(make("p", "If you would rather check first:", "cost"));
    }
    const told = data.checks[check];
    place.append(make("p", told.words, "do"));
    place.append(make("p", "State: " + told.state + ".", "cost"));
    const opens = told.places.filter((k) => !now.opened.has(k) && data.places[k].minutes > 0);
    let text = minutesOf(cost(check, now.opened));
    if (opens.length) text += ", the way in included: " + opens.map((k) => data.places[k].words).join("; ");
    place.append(make("p", "Takes " + text + ".", "cost"));
    place.append(make("p", "When all is sound: " + told.sound + ".", "sound"));
    showCautions(place, told.cautions);
    place.append(make("p", "What was seen?", "cost"), answers(check, now.probability));
  }

  function showOthers(now) {
    const first = make("option", "choose a check to make instead");
    first.value = "";
    const others = [];
    data.checks.forEach((told, check) => {
      if (now.done.includes(check)) return;
      const option = make("option", told.name + " (" + told.state + "), " + minutesOf(cost(check, now.opened)));
      option.value = String(check);
      option.selected = check === chosen;
      others.push(option);
    });
    byId("other").replaceChildren(first, ...others);
  }

  function showLog(now) {
    byId("clock").textContent = taps.length ? minutesOf(now.minutes) + " so far." : "Nothing yet.";
    const items = now.steps.map(({ check, outcome, spent }) => {
      const told = data.checks[check];
      return make("li", told.name + " (" + told.state + "): " + told.outcomes[outcome].words + "; " + minutesOf(spent));
    });
    byId("log").replaceChildren(...items);
    byId("undo").disabled = taps.length === 0;
    const entries = now.steps.map((step) => data.checks[step.check].outcomes[step.outcome].entry);
    byId("case").value = [data.case.trimEnd() + "\n", ...entries].join("\n");
    byId("case-print").textContent = byId("case").value;
    byId("copied").textContent = "";
  }

  function show() {
    const now = standing();
    showSuspects(now);
    showCheck(now);
    showOthers(now);
    showLog(now);
  }

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
  byId("copy").addEventListener("click", () => {
    byId("case").focus();
    byId("case").select();
    // where the browser does not let a page copy, the text is marked and the person copies it
    const done = document.execCommand("copy");
    byId("copied").textContent = done ? "Copied." : "Marked: copy it now.";
  });
  show();
  // where the job stands, for other programs
  window.jobPage = { standing };
})();
