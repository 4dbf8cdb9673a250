"use strict";
/* What each tap does to the suspects, and which check comes next: tests/page_rule.py says the same in Python. */
const reckoning = (data) => {
  const NOTHING = 1e-6;
  const EQUAL = 1e-9;
  const LEAST_MINUTES = 0.1;
  const SLIP = 0.03;
  const ANYTHING = 0.2;
  const BELIEVED = 0.02;

  function normal(values) {
    let total = 0;
    for (const value of values) total += value;
    return total > 0 ? values.map((value) => value / total) : values.slice();
  }

  function opening(places, opened) {
    let minutes = 0;
    for (const place of places) if (!opened.has(place)) minutes += data.places[place].minutes;
    return minutes;
  }

  function cost(work, opened) {
    return work.minutes + opening(work.places, opened);
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

  // whether something that is believed would make it burn
  function wouldBurn(check, probability) {
    const modelled = normal(probability.slice(0, -1));
    let chance = 0;
    data.checks[check].burns.forEach((burns, i) => { chance += burns * modelled[i]; });
    return chance > BELIEVED;
  }

  function nextCheck(probability, opened, done) {
    let best = -1;
    let most = 0;
    for (let check = 0; check < data.checks.length; check += 1) {
      if (done.includes(check) || wouldBurn(check, probability)) continue;
      const told = bits(check, probability);
      const worth = told / Math.max(cost(data.checks[check], opened), LEAST_MINUTES);
      if (told > NOTHING && worth > most * (1 + EQUAL)) {
        best = check;
        most = worth;
      }
    }
    return best;
  }

  // the number of the word that says the same
  function outcomeOf(tap) {
    if (tap.number === undefined) return tap.outcome;
    return data.checks[tap.check].number.limits.filter((limit) => tap.number > limit).length;
  }

  // where the plan stands, null where it was left or ends
  function planned(taps) {
    let plan = data.plan;
    for (const tap of taps) {
      if (plan === null || tap.check === undefined || tap.check !== plan.check) return null;
      const then = plan.then.find((entry) => entry[0] === outcomeOf(tap));
      plan = then === undefined ? null : then[1];
    }
    return plan;
  }

  function numberRow(tap) {
    const number = data.checks[tap.check].number;
    const value = number.floor ? Math.log(tap.number + number.floor) : tap.number;
    const row = data.suspects.map(() => 0);
    let sound = 0;
    data.cells.forEach((cell, k) => {
      let density = 1 / number.span;
      if (number.middle[k] !== null) {
        const off = (value - number.middle[k]) / number.spread[k];
        density = Math.exp(-0.5 * off * off) / (number.spread[k] * Math.sqrt(2 * Math.PI));
      }
      if (cell.suspect < 0) sound = density;
      else row[cell.suspect] += cell.weight * (cell.acts * density + (1 - cell.acts) * sound);
    });
    const known = normal(data.suspects.slice(0, -1).map((suspect) => suspect.probability));
    let average = 0;
    known.forEach((p, i) => {
      row[i] = (1 - SLIP) * row[i] + SLIP / number.span;
      average += p * row[i];
    });
    row[row.length - 1] = (1 - ANYTHING) * average + ANYTHING / number.span;
    return row;
  }

  // under each suspect, how likely what a tap tells is; null where it tells nothing
  function rowOf(tap) {
    if (tap.repair !== undefined) return tap.cured ? null : data.repairs[tap.repair].unchanged;
    if (tap.number !== undefined) return numberRow(tap);
    return data.checks[tap.check].likelihood[tap.outcome];
  }

  function standing(taps) {
    let probability = normal(data.suspects.map((suspect) => suspect.probability));
    const opened = new Set();
    data.places.forEach((place, k) => { if (place.open) opened.add(k); });
    let minutes = 0;
    let cure = data.cured;
    let stage = data.stage;
    const steps = [];
    const done = [];
    for (const tap of taps) {
      if (tap.proof !== undefined) {
        steps.push({ tap, spent: 0, stage, cure });
        continue;
      }
      const work = tap.repair !== undefined ? data.repairs[tap.repair] : data.checks[tap.check];
      const spent = cost(work, opened);
      minutes += spent;
      for (const place of work.places) opened.add(place);
      const row = rowOf(tap);
      if (row) probability = normal(probability.map((p, i) => p * row[i]));
      steps.push({ tap, spent, stage });
      if (tap.repair !== undefined) {
        stage += 1;
        if (tap.cured) cure = work;
      } else done.push(tap.check);
    }
    const plan = planned(taps);
    const mend = plan === null || cure ? "" : plan.mend;
    const beware = plan === null ? [] : plan.cautions;
    let next = -1;
    if (!cure) next = plan === null ? nextCheck(probability, opened, done) : plan.check;
    return { probability, opened, minutes, steps, done, next, mend, beware, cure };
  }

  return { standing, normal, cost, wouldBurn };
};
