// What scripts say, in the language of their page: English where it is written, other words from <language>.json beside this file.
const language = document.documentElement.lang || "en";

export const locale = language === "en" ? "en-GB" : language;

const meant = language === "en" ? {} : await fetch(new URL(`${language}.json`, import.meta.url)).then(answer => answer.json()).catch(() => ({}));

// The sentence, its {names} filled in. It stands written out where it is said, so that languages/gather.py finds it.
export const say = (sentence, values = {}) => (meant[sentence] || sentence).replace(/\{(\w+)\}/g, (name, key) => values[key] ?? name);
