// The book as the phone knows it: what it was last told, and what was recorded here since.
import {readCode, showCode} from "./codes.js";
import {say} from "./words.js";

const WOOD = ["bench", "store", "bag"];
const key = (lot, place) => `${lot}|${place}`;
const fold = text => text.trim().replace(/\s+/g, " ").toLowerCase();

export class Book {
  constructor(snapshot, records = []) {
    this.snapshot = snapshot;
    this.lots = new Map();
    this.places = new Map();
    this.held = new Map();
    const places = snapshot.places.map(([code, kind, name, stands, last, tare, plot]) => ({code, kind, name, stands, last, tare, plot}));
    for (const place of places) {
      place.stands = place.stands === null ? null : places[place.stands].code;
      this.places.set(place.code, place);
    }
    for (const [code, mark, variety, species, grade] of snapshot.lots) this.lots.set(code, {code, mark, variety, species, grade});
    for (const [lot, place, count] of snapshot.holds) this.held.set(key(snapshot.lots[lot][0], snapshot.places[place][0]), count);
    for (const record of records) {
      const later = record.state === "booked" && record.bookedAt > snapshot.got;
      if (record.state === "waiting" || later) this.apply(record);
    }
  }

  // What a record changes, as far as the phone can tell.
  apply(record) {
    for (const [lot, from, to, count] of record.moves || []) {
      this.held.set(key(lot, from), Math.max(0, (this.held.get(key(lot, from)) || 0) - count));
      if (to) this.held.set(key(lot, to), (this.held.get(key(lot, to)) || 0) + count);
    }
    if (record.stands) {
      const [code, store] = record.stands, place = this.places.get(code);
      if (place) this.places.set(code, {...place, stands: store});
    }
    if (record.weighs) {
      const [code, last] = record.weighs, place = this.places.get(code);
      if (place) this.places.set(code, {...place, last});
    }
  }

  // The lot or place that a code, a mark or a name means; what is well formed and not known here may be newer than this copy.
  find({text = "", plot = ""}) {
    if (plot) {
      const place = [...this.places.values()].find(one => one.plot === plot);
      return place ? {place} : {why: say("Plot {trial}, plot {number}: this phone knows no such batch. It may be newer than its copy of the book.", {trial: plot.split("/")[0], number: plot.split("/")[1]})};
    }
    const {code, why} = readCode(text);
    if (code && this.lots.has(code)) return {lot: this.lots.get(code)};
    if (code && this.places.has(code)) return {place: this.places.get(code)};
    const name = fold(text);
    const lot = [...this.lots.values()].find(one => one.mark && fold(one.mark) === name);
    if (lot) return {lot};
    const place = [...this.places.values()].find(one => fold(one.name) === name);
    if (place) return {place};
    if (code) return {lot: {code, mark: "", variety: showCode(code), species: "", grade: "", isNew: true}};
    if (!name) return {why: say("Nothing was typed.")};
    return {why: say("Nothing here is called so. {why}", {why})};
  }

  lot(code) { return this.lots.get(code) || (code ? {code, mark: "", variety: showCode(code), species: "", grade: "", isNew: true} : null); }
  place(code) { return this.places.get(code) || null; }
  count(lot, place) { return this.held.get(key(lot.code, place.code)) || 0; }

  // Where a lot lies, or what lies in a place, with how many.
  holdings({lot, place}) {
    const found = [];
    for (const [at, count] of this.held) {
      const [one, there] = at.split("|");
      if (count > 0 && (!lot || one === lot.code) && (!place || there === place.code)) found.push({lot: this.lot(one), place: this.place(there), count});
    }
    return found.sort((a, b) => a.place.name.localeCompare(b.place.name) || a.lot.code.localeCompare(b.lot.code));
  }

  standingIn(place) {
    return [...this.places.values()].filter(one => one.stands === place.code && this.holdings({place: one}).length);
  }

  among(kinds, but) { return [...this.places.values()].filter(one => kinds.includes(one.kind) && one.code !== but); }
  get wood() { return WOOD; }

  names() {
    const names = new Set();
    for (const lot of this.lots.values()) names.add(lot.mark || showCode(lot.code));
    for (const place of this.places.values()) names.add(place.name);
    return [...names].sort();
  }
}

export const called = lot => lot.mark || showCode(lot.code);
const isOpen = place => ["bench", "ground"].includes(place.kind);
export const placeWords = place => place.kind === "bag" ? say("bag {name}", place) : place.kind === "batch" ? say("batch {name}", place) : place.name;
export const whereWords = place => isOpen(place) ? say("on {place}", {place: placeWords(place)}) : say("in {place}", {place: placeWords(place)});
export const whenceWords = place => isOpen(place) ? say("from {place}", {place: placeWords(place)}) : say("out of {place}", {place: placeWords(place)});
