// Steppers of the grading page: one tap is one step of the gauge. Fields work without it.
"use strict";

// "1-1/2", "11/32", "0.15" or "9,5" as a number; null for empty, NaN for what has a unit or a word.
function figure(text) {
  const found = text.trim().replace(",", ".").match(/^(?:(\d+)[- ])?(\d+)\/(\d+)$/);
  if (found) return Number(found[1] || 0) + Number(found[2]) / Number(found[3]);
  return text.trim() === "" ? null : Number(text.trim().replace(",", "."));
}

const divisor = (a, b) => (b ? divisor(b, a % b) : a);

// So many steps of number/parts as the trade writes it: a fraction for inches, else a decimal.
function written(steps, number, parts, fraction) {
  const total = steps * number;
  if (!fraction) return String(Number((total / parts).toFixed(4)));
  const whole = Math.floor(total / parts), rest = total % parts, common = divisor(rest, parts);
  if (!rest) return String(whole);
  return `${whole ? `${whole}-` : ""}${rest / common}/${parts / common}`;
}

function step(field, by) {
  const { number, parts, start, most, fraction } = field.dataset;
  const now = figure(field.value), size = Number(number) / Number(parts);
  if (Number.isNaN(now)) return;
  let steps = Number(start);
  if (now !== null) {
    const at = now / size, near = Math.round(at);
    if (Math.abs(at - near) < 1e-6) steps = near + by;
    else steps = by > 0 ? Math.ceil(at) : Math.floor(at);
  }
  steps = Math.max(0, most ? Math.min(steps, Number(most)) : steps);
  field.value = written(steps, Number(number), Number(parts), fraction !== undefined);
  field.dispatchEvent(new Event("input", { bubbles: true }));
}

for (const button of document.querySelectorAll("[data-step-by]")) button.hidden = false;
document.addEventListener("click", ({ target }) => {
  const button = target.closest("[data-step-by]");
  if (button) step(button.parentElement.querySelector("input"), Number(button.dataset.stepBy));
});
