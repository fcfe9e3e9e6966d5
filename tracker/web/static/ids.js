// Ids made on the device: UUID version 7, which sort by the time they were made.

let last = { moment: 0, count: 0 };

/** Return a new id; on one page each sorts after the one before. */
export function newId(now = Date.now()) {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  // Several in one millisecond, or a clock set back, count on in the 12 bits after the version.
  const again = now <= last.moment;
  let moment = again ? last.moment : now;
  let count = again ? last.count + 1 : ((bytes[6] & 0x03) << 8) | bytes[7];
  if (count > 0xfff) [moment, count] = [moment + 1, 0];
  last = { moment, count };
  const time = moment.toString(16).padStart(12, "0");
  for (let at = 0; at < 6; at += 1) bytes[at] = parseInt(time.slice(2 * at, 2 * at + 2), 16);
  bytes[6] = 0x70 | (count >> 8);
  bytes[7] = count & 0xff;
  bytes[8] = 0x80 | (bytes[8] & 0x3f);
  const hex = Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
  return hex.replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, "$1-$2-$3-$4-$5");
}

/** Return a moment with the device's own zone: 2026-03-02T08:15:00.123+01:00. */
export function momentHere(at = new Date()) {
  const ahead = -at.getTimezoneOffset();
  const two = (number) => String(Math.floor(Math.abs(number))).padStart(2, "0");
  const local = new Date(at.getTime() + ahead * 60_000).toISOString().slice(0, -1);
  return `${local}${ahead < 0 ? "-" : "+"}${two(ahead / 60)}:${two(Math.abs(ahead) % 60)}`;
}
