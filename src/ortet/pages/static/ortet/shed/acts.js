// The few acts: when each can be done, what it asks, and the record that it makes. The words are those of the pages.
import {called, placeWords, whereWords} from "./book.js";

const SLIP = 3; // a bag that weighs this many times more or less than before is a slip of the pen, as at the desk
const WOOD = ["bench", "store", "bag"];

const isWhole = (value, least) => /^\d+$/.test(value) && Number(value) >= least;
const many = count => count === 1 ? "1 cutting" : `${count} cuttings`;
const ofLot = lot => `${lot.variety} ${called(lot)}`;
const aboutOf = ({lot, place}) => [lot?.code, ["bag", "batch"].includes(place?.kind) ? place.code : null].filter(Boolean);

// How many, of so many that lie there; empty means all, and all is said as a number: others may take some meanwhile.
const countField = there => ({name: "count", label: "Cuttings", kind: "count", hint: there ? `Empty: all ${there}.` : "How many."});
function countIn(values, there) {
  if (values.count === "" && there) return {count: there};
  if (!isWhole(values.count, 1)) return {wrong: {count: "A whole number, 1 or more."}};
  if (there && Number(values.count) > there) return {wrong: {count: `${values.count} asked, ${there} are there as far as this phone knows.`}};
  return {count: Number(values.count)};
}

const thereOf = ({lot, place}, book) => lot && place ? book.count(lot, place) : 0;
const hasWood = ({lot, place}) => lot && place && WOOD.includes(place.kind);

function destination(book, kinds, but, label = "To") {
  return {name: "to", label, kind: "place", places: book.among(kinds, but)};
}

function placeIn(values, places) {
  const text = (values.to || "").trim().toLowerCase();
  const found = places.find(place => place.code === values.to || place.name.toLowerCase() === text);
  return found ? {to: found} : {wrong: {to: text ? `This phone knows no place called “${values.to}” that it could go to.` : "Say where."}};
}

export const ACTS = {
  stand: {
    title: ({place}) => `Move ${placeWords(place)}`,
    button: ({place}) => place.kind === "bag" ? "Move the bag" : "Move the batch",
    save: "Move it",
    can: ({place}) => ["bag", "batch"].includes(place?.kind),
    asks: ({place}, book) => [destination(book, [place.kind === "bag" ? "store" : "bench"], place.stands, "Stands from now on")],
    makes(values, {lot, place}, book) {
      const {to, wrong} = placeIn(values, book.among([place.kind === "bag" ? "store" : "bench"], place.stands));
      if (wrong) return {wrong};
      const from = book.place(place.stands);
      return {
        said: {bag: place.code, store: to.code, from_store: place.stands || ""},
        words: `${placeWords(place)} ${from ? `from ${from.name} ` : ""}to ${to.name}`,
        about: [place.code, ...book.holdings({place}).map(one => one.lot.code)], stands: [place.code, to.code],
      };
    },
  },
  move: {
    title: ({lot, place}) => `Move cuttings of ${lot.variety} ${whereWords(place).replace(/^on /, "from ").replace(/^in /, "out of ")}`,
    button: ({place}) => place.kind === "ground" ? "Move plants" : "Move cuttings",
    save: "Move",
    can: subject => hasWood(subject) || (subject.lot && subject.place?.kind === "ground"),
    asks: (subject, book) => [countField(thereOf(subject, book)), destination(book, subject.place.kind === "ground" ? ["ground"] : WOOD, subject.place.code)],
    makes(values, {lot, place}, book) {
      const {count, wrong} = countIn(values, thereOf({lot, place}, book));
      const to = placeIn(values, book.among(place.kind === "ground" ? ["ground"] : WOOD, place.code));
      if (wrong || to.wrong) return {wrong: {...wrong, ...to.wrong}};
      return {
        said: {lot: lot.code, from_place: place.code, to_place: to.to.code, count},
        words: `${many(count)} of ${ofLot(lot)} from ${placeWords(place)} to ${placeWords(to.to)}`,
        about: [...aboutOf({lot, place}), ...aboutOf({place: to.to})], moves: [[lot.code, place.code, to.to.code, count]],
      };
    },
  },
  weigh: {
    title: ({place}) => `Weigh ${placeWords(place)}`,
    button: () => "Weigh",
    save: "Save the weight",
    can: ({place}) => place?.kind === "bag",
    asks: ({place}, book) => [{name: "gross_g", label: `Weight, bag and all (${book.snapshot.units.mass})`, kind: "number",
      hint: place.last && book.snapshot.units.mass === "g" ? `It weighed ${Math.round(place.last * 10) / 10} g before.` : ""}],
    makes(values, {lot, place}, book, isSure) {
      const text = values.gross_g.trim(), grams = Number(text.replace(",", "."));
      if (!text || grams <= 0) return {wrong: {gross_g: "Say what it weighs."}};
      const metric = book.snapshot.units.mass === "g" && Number.isFinite(grams);
      const ratio = (grams - (place.tare || 0)) / ((place.last || 0) - (place.tare || 0));
      if (metric && place.last && !isSure && !(ratio > 1 / SLIP && ratio < SLIP)) {
        return {ask: `${text} g, and it weighed ${Math.round(place.last * 10) / 10} g before. Is a digit wrong? Press again if it is right.`};
      }
      return {said: {bag: place.code, gross_g: text}, words: `${placeWords(place)} weighs ${text}${/[a-z]/i.test(text) ? "" : ` ${book.snapshot.units.mass}`}`,
        about: [place.code], ...(metric ? {weighs: [place.code, grams]} : {})};
    },
  },
  inspect: {
    title: ({lot, place}) => `Inspect ${lot.variety} ${whereWords(place)}`,
    button: () => "Inspect",
    save: "Save what was seen",
    can: hasWood,
    asks: () => [
      {kind: "side", fields: [{name: "sound", label: "Sound", kind: "count"}, {name: "mouldy", label: "Mouldy", kind: "count"}, {name: "dry", label: "Dry", kind: "count"}]},
      {name: "free_water", label: "Free water in the bag", kind: "choice", choices: [["none", "none"], ["droplets", "droplets"], ["pooled", "pooled"]]},
      {kind: "side", fields: [{name: "scratch_green", label: "Green under the bark", kind: "count"}, {name: "scratch_of", label: "Of how many scratched", kind: "count"}]},
      {name: "callus", label: "Callus, the lot as a whole", kind: "choice", choices: [["0", "none"], ["1", "first specks"], ["2", "half the ring"], ["3", "most of it"], ["4", "full ring"]]},
      {name: "note", label: "Note", kind: "long"},
    ],
    makes(values, {lot, place}) {
      const counts = ["sound", "mouldy", "dry", "scratch_green", "scratch_of"];
      const wrong = Object.fromEntries(counts.filter(name => values[name] && !isWhole(values[name], 0)).map(name => [name, "A whole number."]));
      if (Object.keys(wrong).length) return {wrong};
      const {scratch_green: green, scratch_of: of} = values;
      if ((green === "") !== (of === "") || Number(green) > Number(of)) return {wrong: {scratch_of: "Give both: how many green, of how many scratched."}};
      const said = Object.fromEntries(Object.entries(values).filter(([, value]) => value !== ""));
      if (!Object.keys(said).length) return {wrong: {sound: "Nothing was entered. Leave empty only what you did not look at."}};
      const seen = [["sound", "sound"], ["mouldy", "mouldy"], ["dry", "dry"]].filter(([name]) => values[name] !== "").map(([name, word]) => `${values[name]} ${word}`);
      if (of !== "") seen.push(`${green} green of ${of}`);
      if (values.free_water) seen.push(`free water: ${values.free_water}`);
      if (values.callus) seen.push(`callus ${values.callus} of 4`);
      return {said: {...said, lot: lot.code, place: place.code}, words: `${ofLot(lot)} ${whereWords(place)}: ${seen.join(", ") || values.note}`, about: aboutOf({lot, place})};
    },
  },
  count: {
    title: ({lot, place}) => `Count ${placeWords(place)}${lot ? `, ${lot.variety}` : ""}`,
    button: () => "Count",
    save: "Save the count",
    can: ({lot, place}) => place?.kind === "batch" || (place?.kind === "ground" && lot),
    asks: () => [
      {kind: "side", fields: [{name: "rooted", label: "Rooted", kind: "count"}, {name: "callused", label: "Callus only", kind: "count"}]},
      {kind: "side", fields: [{name: "leafed", label: "Leaves, no roots", kind: "count"}, {name: "dead", label: "Dead", kind: "count"}]},
      {name: "give_up_dead", label: "Throw the dead out: book them as given up", kind: "tick"},
    ],
    makes(values, {lot, place}, book) {
      const names = ["rooted", "callused", "leafed", "dead"], given = names.filter(name => values[name] !== "");
      const wrong = Object.fromEntries(given.filter(name => !isWhole(values[name], 0)).map(name => [name, "A whole number."]));
      if (!given.length) wrong.rooted = "Nothing was entered. Leave empty only what you did not count.";
      if (Object.keys(wrong).length) return {wrong};
      const there = thereOf({lot, place}, book), sum = given.reduce((total, name) => total + Number(values[name]), 0);
      if (there && sum > there) return {wrong: {rooted: `That makes ${sum}, and ${there} stand there as far as this phone knows. Count each once.`}};
      const out = values.give_up_dead && Number(values.dead) && lot ? [[lot.code, place.code, null, Number(values.dead)]] : [];
      return {
        said: {...Object.fromEntries(given.map(name => [name, values[name]])), place: place.code, lot: lot ? lot.code : "", give_up_dead: Boolean(values.give_up_dead)},
        words: `${placeWords(place)}: ${given.map(name => `${values[name]} ${name}`).join(", ")}`, about: aboutOf({lot, place}), moves: out,
      };
    },
  },
  strike: {
    title: ({lot}) => `Strike ${lot.variety}`,
    button: () => "Strike",
    save: "Strike",
    can: hasWood,
    cautions: book => book.snapshot.cautions.strike,
    asks: (subject, book) => [
      countField(thereOf(subject, book)), destination(book, ["bench"], null, "Bench"),
      {name: "treatment", label: "Treatment of the base", kind: "text", hint: "In your words, such as none, or K-IBA 2500 mg/l dip."},
      {kind: "side", fields: [{name: "tray", label: "Tray", kind: "text"}, {name: "base_c", label: `Base (${book.snapshot.units.temperature})`, kind: "number"}]},
      {name: "wounded", label: "The base was wounded", kind: "tick"},
    ],
    makes(values, {lot, place}, book) {
      const {count, wrong} = countIn(values, thereOf({lot, place}, book));
      const to = placeIn(values, book.among(["bench"]));
      if (wrong || to.wrong) return {wrong: {...wrong, ...to.wrong}};
      const {treatment, tray, base_c, wounded} = values;
      return {
        said: {lot: lot.code, from_place: place.code, count, bench: to.to.code, treatment, tray, base_c, wounded: Boolean(wounded)},
        words: `${many(count)} of ${ofLot(lot)} out of ${placeWords(place)}, struck on ${to.to.name}`,
        about: aboutOf({lot, place}), moves: [[lot.code, place.code, null, count]],
      };
    },
  },
  "give-up": {
    title: ({lot, place}) => `Give up ${lot.variety} ${whereWords(place)}`,
    button: () => "Give up",
    save: "Book out",
    can: ({lot, place}) => lot && place && !["site", "parcel"].includes(place.kind),
    asks: (subject, book) => [
      {...countField(0), hint: `Of ${thereOf(subject, book)} there.`},
      {name: "not_found", label: "Why", kind: "choice", choices: [["", "no longer fit to use"], ["1", "not found at a count"]], value: ""},
      {name: "note", label: "Note", kind: "long"},
    ],
    makes(values, {lot, place}, book) {
      const {count, wrong} = countIn(values.count === "" ? {count: "?"} : values, thereOf({lot, place}, book));
      if (wrong) return {wrong};
      return {
        said: {lot: lot.code, from_place: place.code, count, not_found: values.not_found, note: values.note},
        words: `${many(count)} of ${ofLot(lot)} ${values.not_found ? "not found" : "given up"}, ${whereWords(place)}`,
        about: aboutOf({lot, place}), moves: [[lot.code, place.code, null, count]],
      };
    },
  },
  note: {
    title: subject => `Note on ${nameOf(subject)}`,
    button: () => "Note",
    save: "Save the note",
    can: () => true,
    asks: () => [{name: "note", label: "In your words", kind: "long"}],
    makes(values, subject) {
      if (!values.note.trim()) return {wrong: {note: "Write a few words."}};
      return {said: {...codesOf(subject), note: values.note}, words: `${nameOf(subject)}: ${values.note.trim()}`, about: aboutOf(subject)};
    },
  },
  photo: {
    title: subject => `Photo of ${nameOf(subject)}`,
    button: () => "Photo",
    save: "Save the photo",
    can: () => true,
    asks: () => [{name: "picture", label: "The photo", kind: "photo"}, {name: "note", label: "What it shows", kind: "text"}],
    makes(values, subject) {
      if (!values.picture) return {wrong: {picture: "Take the photo first."}};
      return {said: {...codesOf(subject), note: values.note}, picture: values.picture, words: `${nameOf(subject)}${values.note ? `: ${values.note}` : ""}`, about: aboutOf(subject)};
    },
  },
};

export const NOUNS = {stand: "Move", move: "Move", weigh: "Weigh", inspect: "Inspect", count: "Count", strike: "Strike", "give-up": "Give up", note: "Note", photo: "Photo"};
const codesOf = ({lot, place}) => ({lot: lot ? lot.code : "", place: place ? place.code : ""});
export const nameOf = ({lot, place}) => [lot ? ofLot(lot) : "", place ? (lot ? whereWords(place) : placeWords(place)) : ""].filter(Boolean).join(" ");
