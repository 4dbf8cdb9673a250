"use strict";
(() => {
  const data = JSON.parse(document.getElementById("data").textContent);
  const taps = [];
  let chosen = null;

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
    let total = 0;
    for (const row of data.checks[check].likelihood) {
      let chance = 0;
      for (let i = 0; i < row.length; i += 1) chance += probability[i] * row[i];
      if (chance <= 0) continue;
      let part = 0;
      for (let i = 0; i < row.length; i += 1) {
        if (probability[i] > 0 && row[i] > 0) part += probability[i] * row[i] * Math.log2(row[i] / chance);
      }
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
      const worth = told / cost(check, opened);
      if (told > 1e-6 && worth > most * (1 + 1e-9)) {
        best = check;
        most = worth;
      }
    }
    return best;
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
    return { probability, opened, minutes, steps, done, next: nextCheck(probability, opened, done) };
  }

  function percent(p) {
    if (p > 0 && p < 0.005) return "<1 %";
    if (p >= 0.995 && p < 1) return ">99 %";
    return Math.round(100 * p) + " %";
  }

  function minutesOf(value) {
    return Math.round(10 * value) / 10 + " min";
  }

  function leading(probability) {
    return probability.map((p, i) => [p, i]).sort((a, b) => b[0] - a[0] || a[1] - b[1]);
  }

  function showSuspects(now) {
    const list = byId("suspects");
    list.replaceChildren();
    for (const [p, i] of leading(now.probability).slice(0, 5)) {
      const item = make("li");
      item.append(make("span", percent(p), "odds"), make("span", data.suspects[i].words));
      if (data.suspects[i].place) item.append(make("span", data.suspects[i].place, "place"));
      const bar = make("meter");
      bar.min = 0;
      bar.max = 1;
      bar.value = p;
      bar.setAttribute("aria-label", percent(p));
      item.append(bar);
      list.append(item);
    }
  }

  function whatThen(check, outcome, probability) {
    const row = data.checks[check].likelihood[outcome];
    const after = normal(probability.map((p, i) => p * row[i]));
    const [p, i] = leading(after)[0];
    return "then " + percent(p) + ": " + data.suspects[i].words;
  }

  function showCheck(now) {
    const place = byId("next");
    place.replaceChildren();
    const check = chosen !== null ? chosen : now.next;
    if (check < 0) {
      place.append(make("p", "No check tells more. Mend the likeliest fault and prove it."));
      return;
    }
    const told = data.checks[check];
    place.append(make("p", told.words + " (" + told.state + ")."));
    const opens = told.places.filter((k) => !now.opened.has(k) && data.places[k].minutes > 0);
    let text = minutesOf(cost(check, now.opened));
    if (opens.length) text += ", with getting " + opens.map((k) => data.places[k].words).join(" and ");
    place.append(make("p", text, "cost"));
    for (const caution of told.cautions) place.append(make("p", caution, "caution"));
    const answers = make("div", undefined, "outcomes");
    answers.setAttribute("role", "group");
    answers.setAttribute("aria-label", "What was seen");
    told.outcomes.forEach((outcome, k) => {
      const button = make("button", outcome.words);
      button.type = "button";
      button.dataset.outcome = String(k);
      button.append(make("span", whatThen(check, k, now.probability), "then"));
      button.addEventListener("click", () => {
        taps.push([check, k]);
        chosen = null;
        show();
      });
      answers.append(button);
    });
    place.append(answers);
  }

  function showOthers(now) {
    const list = byId("other");
    list.replaceChildren();
    const first = make("option", "choose a check to make instead");
    first.value = "";
    list.append(first);
    data.checks.forEach((told, check) => {
      if (now.done.includes(check)) return;
      const option = make("option", minutesOf(cost(check, now.opened)) + ": " + told.check + " (" + told.state + ")");
      option.value = String(check);
      option.selected = check === chosen;
      list.append(option);
    });
  }

  function showLog(now) {
    byId("clock").textContent = taps.length ? minutesOf(now.minutes) + " so far" : "nothing yet";
    const list = byId("log");
    list.replaceChildren();
    for (const step of now.steps) {
      const told = data.checks[step.check];
      list.append(make("li", told.check + ": " + told.outcomes[step.outcome].words + " (" + minutesOf(step.spent) + ")"));
    }
    byId("undo").disabled = taps.length === 0;
    const entries = now.steps.map((step) => data.checks[step.check].outcomes[step.outcome].entry);
    byId("case").value = [data.case.trimEnd() + "\n", ...entries].join("\n");
  }

  function show() {
    const now = standing();
    showSuspects(now);
    showCheck(now);
    showOthers(now);
    showLog(now);
    document.documentElement.dataset.next = String(now.next);
  }

  function once() {
    const body = byId("sound");
    for (const reading of data.sound) {
      const row = make("tr");
      for (const text of [reading.gauge, reading.state, reading.needle]) row.append(make("td", text));
      body.append(row);
    }
    for (const caution of data.cautions) byId("cautions").append(make("li", caution));
    byId("undo").addEventListener("click", () => { taps.pop(); chosen = null; show(); });
    byId("other").addEventListener("change", (event) => {
      chosen = event.target.value === "" ? null : Number(event.target.value);
      show();
    });
    byId("copy").addEventListener("click", () => { byId("case").focus(); byId("case").select(); });
    show();
  }

  once();
  // for a test or another program: where the job stands after some taps
  window.gaugesimStanding = (sequence) => {
    taps.length = 0;
    for (const tap of sequence) taps.push(tap);
    chosen = null;
    show();
    const now = standing();
    return { probability: now.probability, minutes: now.minutes, next: now.next };
  };
})();
