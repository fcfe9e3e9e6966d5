// Moments told in the time of the depot. The server's shared/moments.py does the same; a test holds
// the two together.

import { tables } from "./mark_field.js";

const QUOTED = /\b(\d{4}-\d{2}-\d{2}) (\d{2}:\d{2}) UTC\b/g;
const MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];

/** Return the zone of each depot by its code; of none where nothing is known of them yet. */
export async function depotZones() {
  return (await tables)?.zones ?? {};
}

/** Return a sentence of the record, which quotes moments in UTC, with each told in a zone. */
export function inZone(sentence, zone) {
  if (!zone) return sentence;
  return sentence.replace(QUOTED, (whole, day, time) => {
    const at = new Date(`${day}T${time}:00Z`);
    return Number.isNaN(at.getTime()) ? whole : momentIn(at, zone);
  });
}

/** Write the time of day of a moment in a zone; in the device's own where none is named. */
export function timeIn(moment, zone) {
  const { hour, minute } = partsOf(moment, zone);
  return `${hour}:${minute}`;
}

function momentIn(moment, zone) {
  const { year, month, day, hour, minute } = partsOf(moment, zone);
  return `${Number(day)} ${MONTHS[Number(month) - 1]} ${year}, ${hour}:${minute}`;
}

function partsOf(moment, zone) {
  const format = new Intl.DateTimeFormat("en-GB", {
    timeZone: zone,
    year: "numeric",
    month: "2-digit",
    day: "2-digit",
    hour: "2-digit",
    minute: "2-digit",
    hourCycle: "h23",
  });
  return Object.fromEntries(format.formatToParts(moment).map(({ type, value }) => [type, value]));
}
