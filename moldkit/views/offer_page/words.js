// Figures and dates as words, the same as the kit prints them.

const THIN = "\u202f";
const WEEKDAYS = ["Sun", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat"];
const MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];

const count = (number) => String(number).replace(/\B(?=(\d{3})+$)/g, THIN);
const money = (cents) => `${count(Math.floor(cents / 100))}.${String(cents % 100).padStart(2, "0")}`;
const castings = (number) => (number === 1 ? "1 casting" : `${count(number)} castings`);

function shortDay(iso) {
  const [year, month, date] = iso.split("-").map(Number);
  return `${date} ${MONTHS[month - 1]} ${year}`;
}

const day = (iso) => `${WEEKDAYS[new Date(`${iso}T00:00:00Z`).getUTCDay()]} ${shortDay(iso)}`;

function element(tag, attributes = {}, ...children) {
  const made = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, value);
  made.append(...children);
  return made;
}
