// Marks without a signal: split, check digit, and what a misread one may have been. The tables come
// from the server; with a signal its own check says more, since it knows the units.

const FIRST_DIGIT = 4;
const LENGTH = 11;
const MOST = 4;

/** Say whether a text is the last digits of a mark, as a driver reads them. */
export function isLastDigits(text) {
  return /^[0-9]{1,7}$/.test(text.replace(/\s/g, ""));
}

/** Return the capitals and digits of a text. */
export function normalise(text) {
  return text.normalize("NFKC").toUpperCase().replace(/[^A-Z0-9]/g, "");
}

/** Return the check digit that belongs to four letters and six digits; null for anything else. */
export function checkDigit(tables, firstTen) {
  if (!/^[A-Z]{4}[0-9]{6}$/.test(firstTen)) return null;
  let sum = 0;
  for (let at = 0; at < 10; at += 1) {
    const character = firstTen[at];
    sum += (at < FIRST_DIGIT ? tables.letters[character] : Number(character)) * 2 ** at;
  }
  return String((sum % 11) % 10);
}

/** Split a text as far as it is typed, and say what is wrong with it. */
export function readMark(tables, text) {
  const read = normalise(text);
  const parts = [read.slice(0, 3), read.slice(3, 4), read.slice(4, 10), read.slice(10, 11)];
  const whole = read.length === LENGTH && /^[A-Z]{4}[0-9]{7}$/.test(read);
  const expected = checkDigit(tables, read.slice(0, 10));
  return { read, parts, whole, expected, sound: whole && expected === read[10], says: says() };

  function says() {
    for (let at = 0; at < Math.min(read.length, LENGTH); at += 1) {
      if (at < FIRST_DIGIT && /[0-9]/.test(read[at])) return `${read[at]} stands where a letter belongs.`;
      if (at >= FIRST_DIGIT && /[A-Z]/.test(read[at])) return `${read[at]} stands where a digit belongs.`;
    }
    if (read.length > LENGTH) return "It has more than eleven letters and digits.";
    if (read.length >= FIRST_DIGIT && !(read[3] in tables.categories)) {
      return `${read[3]} is no fourth letter; a freight container has U.`;
    }
    if (read.length === 10 && expected !== null) return `The check digit is missing; ${expected} belongs to it.`;
    if (whole && expected !== read[10]) return `The check digit reads ${read[10]}, but ${expected} belongs to this number.`;
    return "";
  }
}

/** Return marks a text may have been misread from, those expected first. */
export function suggest(tables, text, expected) {
  const read = normalise(text).slice(0, LENGTH);
  if (read.length < LENGTH - 1) return [];
  const known = expected.filter((mark) => mark !== read && distance(mark, read) === 1);
  const found = [];
  for (let at = 0; at < read.length; at += 1) {
    for (const other of tables.look_alikes[read[at]] ?? "") {
      found.push(read.slice(0, at) + other + read.slice(at + 1));
    }
    if (at + 1 < read.length && read[at] !== read[at + 1]) {
      found.push(read.slice(0, at) + read[at + 1] + read[at] + read.slice(at + 2));
    }
  }
  const digit = checkDigit(tables, read.slice(0, 10));
  if (digit !== null) found.push(read.slice(0, 10) + digit);
  const sound = found.filter((one) => one !== read && readMark(tables, one).sound && one[3] in tables.categories);
  return [...new Set([...known, ...sound])].slice(0, MOST);
}

/** Say in words what the first characters of a size-type code tell; empty when they tell nothing. */
export function sizeWords(tables, code) {
  const { lengths, heights, families } = tables.sizes;
  const [length, height, family] = normalise(code);
  return [lengths[length], heights[height] && `${heights[height]} high`, families[family]]
    .filter(Boolean)
    .join(", ");
}

/** Write a mark with its two spaces. */
export function written(mark) {
  return `${mark.slice(0, 4)} ${mark.slice(4, 10)} ${mark.slice(10)}`.trim();
}

function distance(one, other) {
  if (one.length !== other.length) return LENGTH;
  return [...one].filter((character, at) => character !== other[at]).length;
}
