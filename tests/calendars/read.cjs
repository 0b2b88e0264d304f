// Reads feeds with two libraries and writes what each understood as JSON.
// node read.cjs FILE... -> {"ical.js": [[event, ...], ...], "node-ical": [...]}, one list per file.
const fs = require("node:fs");
const nodeIcal = require("node-ical");

const pad = (number) => String(number).padStart(2, "0");
const day = (date) =>
  `${date.getFullYear()}-${pad(date.getMonth() + 1)}-${pad(date.getDate())}`;

function withIcalJs(ICAL, text) {
  ICAL.design.strict = true;
  const calendar = new ICAL.Component(ICAL.parse(text));
  return calendar.getAllSubcomponents("vevent").map((component) => {
    const event = new ICAL.Event(component, { strictExceptions: true });
    if (!event.startDate.isDate || !event.endDate.isDate) throw new Error("not a whole day");
    return {
      uid: event.uid,
      starts_on: event.startDate.toString(),
      ends_on: event.endDate.toString(),
      summary: event.summary,
      description: event.description,
      sequence: event.sequence,
      status: component.getFirstPropertyValue("status"),
      alarms: component.getAllSubcomponents("valarm").length,
      repeats: event.isRecurring(),
    };
  });
}

function withNodeIcal(text) {
  return Object.values(nodeIcal.sync.parseICS(text))
    .filter((one) => one.type === "VEVENT")
    .map((event) => {
      if (event.datetype !== "date") throw new Error("not a whole day");
      return {
        uid: event.uid,
        starts_on: day(event.start),
        ends_on: day(event.end),
        summary: event.summary,
        description: event.description,
        sequence: Number(event.sequence),
        status: event.status,
        alarms: (event.alarms || []).length,
        repeats: Boolean(event.rrule),
      };
    });
}

async function main() {
  const ICAL = (await import("ical.js")).default;
  const texts = process.argv.slice(2).map((path) => fs.readFileSync(path, "utf8"));
  const read = {
    "ical.js": texts.map((text) => withIcalJs(ICAL, text)),
    "node-ical": texts.map(withNodeIcal),
  };
  process.stdout.write(JSON.stringify(read));
}

main();
