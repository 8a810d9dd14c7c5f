// What a page needs beside htmx: typed text that survives, sending again, troubles said in words,
// second tap to confirm, number pad. Nothing here is needed to read or to send a form.
"use strict";

const me = document.body.dataset.person || "";
const byId = (id) => document.getElementById(id);
const KEPT = "form[data-keep]";
const PRIVATE = new Set(["csrfmiddlewaretoken", "password", "old_password", "pin"]);

// Entries of a form as pairs of text; no files, no passwords.
function entries(form, data = new FormData(form)) {
  const hidden = new Set([...form.querySelectorAll("input[type=password]")].map((field) => field.name));
  return [...data].filter(([name, value]) => typeof value === "string" && !PRIVATE.has(name) && !hidden.has(name));
}

function restore(form, pairs) {
  const left = new Map();
  for (const [name, value] of pairs) left.set(name, [...(left.get(name) || []), value]);
  for (const field of form.elements) {
    const values = left.get(field.name);
    if (!field.name || PRIVATE.has(field.name) || ["file", "submit", "button", "password"].includes(field.type)) continue;
    if (field.type === "checkbox" || field.type === "radio") field.checked = Boolean(values?.includes(field.value));
    else if (field.type === "select-multiple") for (const option of field.options) option.selected = Boolean(values?.includes(option.value));
    else if (values?.length) field.value = values.shift();
  }
}

// Unsent: a form with data-keep="<person>-<what>" whose answer never came. It is kept on the
// device, filled in and sent again, with the same key, for the same person only.
const slot = (form) => `unsent:${form.dataset.keep}`;
const mine = (key) => key.startsWith(`unsent:${me}-`);
const unsent = () => (me ? Object.keys(localStorage).filter(mine) : []);
const waiting = () => [...document.querySelectorAll(KEPT)].filter((form) => localStorage.getItem(slot(form)));

function showUnsent() {
  const banner = byId("unsent"), keys = unsent(), here = new Set(waiting().map(slot));
  if (!banner) return;
  const elsewhere = keys.find((key) => !here.has(key)), link = banner.querySelector("a");
  banner.hidden = keys.length === 0;
  link.hidden = !elsewhere;
  if (elsewhere) link.href = JSON.parse(localStorage.getItem(elsewhere)).page;
}

function keep({ detail }) {
  const form = detail.elt.closest(KEPT);
  if (!form || !mine(slot(form))) return;
  const pairs = entries(form, detail.requestConfig?.formData), before = JSON.parse(localStorage.getItem(slot(form)));
  const stale = (before?.stale || 0) + Number(Boolean(detail.xhr?.getResponseHeader("HX-Refresh")));
  localStorage.setItem(slot(form), JSON.stringify({ page: location.pathname + location.search, pairs, stale }));
  showUnsent();
}

function answered(event) {
  const form = event.detail.elt.closest(KEPT), { xhr } = event.detail;
  if (xhr.status === 401 || xhr.status >= 500 || xhr.getResponseHeader("HX-Refresh")) keep(event);
  else if (form) { localStorage.removeItem(slot(form)); showUnsent(); }
  if (xhr.status === 401 || xhr.getResponseHeader("HX-Refresh")) keepTyped();
}

let pause = 5000;
function resend() {
  const forms = navigator.onLine && !document.querySelector(".htmx-request") ? waiting() : [];
  pause = forms.length ? Math.min(pause * 2, 60000) : 5000;
  for (const form of forms) {
    const { pairs, stale } = JSON.parse(localStorage.getItem(slot(form)));
    if (stale > 2) continue;  // a page that stays stale would be loaded for ever
    const button = [...form.elements].find((field) => field.type === "submit" && field.name
      && pairs.some(([name, value]) => name === field.name && value === field.value));
    if (!button) { form.requestSubmit(); continue; }
    const { armed } = button.dataset;
    button.dataset.armed = "yes";
    button.click();  // htmx sends a button's value only after a click on it
    if (!armed) delete button.dataset.armed;
  }
}
const resendLater = () => { resend(); setTimeout(resendLater, pause); };

// Typed: what stands in any other form when the page is left for signing in, a switch in the
// head, or a stale form. Kept for this tab only, filled in once, never sent by itself.
const typedSlot = (form) => `typed:${me}:${location.pathname}:${form.id || form.getAttribute("action") || ""}`;
const ordinary = () => [...document.querySelectorAll("form")].filter((form) => form.method === "post"
  && !("tools" in form.dataset) && !localStorage.getItem(slot(form)));

function keepTyped() {
  if (me) for (const form of ordinary().filter((form) => form.dataset.touched)) sessionStorage.setItem(typedSlot(form), JSON.stringify(entries(form)));
}

function fill() {
  const sent = sessionStorage.getItem("sent"), [arrival] = performance.getEntriesByType("navigation");
  sessionStorage.removeItem("sent");  // answered by this page, unless it asks to sign in or came by Back
  if (sent && arrival?.type === "navigate" && !("keepTyped" in document.body.dataset)) sessionStorage.removeItem(sent);
  for (const form of waiting()) restore(form, JSON.parse(localStorage.getItem(slot(form))).pairs);
  for (const form of ordinary()) {
    const pairs = me && sessionStorage.getItem(typedSlot(form));
    if (!pairs) continue;
    restore(form, JSON.parse(pairs));
    form.dataset.touched = "yes";
    sessionStorage.removeItem(typedSlot(form));
  }
  showUnsent();
}

document.addEventListener("input", ({ target }) => { if (target.form) target.form.dataset.touched = "yes"; });

// Idle: nothing else would clear a shared tablet's screen until the next tap.
const idle = Number(document.body.dataset.idle);
if (idle) {
  let timer;
  const untouched = () => {
    clearTimeout(timer);
    timer = setTimeout(() => { keepTyped(); location.reload(); }, idle * 1000);
  };
  for (const touch of ["pointerdown", "keydown", "scroll"]) document.addEventListener(touch, untouched, { passive: true });
  untouched();
}

// Busy: <button data-busy="Planning…"> says so while the answer is awaited.
function busy(button) {
  if (!button?.dataset.busy || button.dataset.word) return;
  button.dataset.word = button.textContent;
  button.textContent = button.dataset.busy;
}
function notBusy(root) {
  for (const button of root.querySelectorAll("[data-word]")) {
    button.textContent = button.dataset.word;
    delete button.dataset.word;
  }
}
document.addEventListener("htmx:afterRequest", ({ detail: { elt, xhr } }) => {
  if (!xhr.getResponseHeader("HX-Redirect")) notBusy(elt);  // else the next page is on its way
});

// Sending: a plain form is sent once, and not into a lost line, where the browser's own page would
// take its place; its text is kept until a page says it was taken.
document.addEventListener("submit", (event) => {
  const form = event.target;
  if (!navigator.onLine && !form.matches("[hx-post]")) {
    event.preventDefault();
    trouble("line");
    return;
  }
  busy(event.submitter);
  if (form.method !== "post") return;
  if ("tools" in form.dataset) { keepTyped(); return; }
  if (form.matches("[hx-post], [hx-put], [hx-patch], [hx-delete]")) return;
  if (form.dataset.sent) { event.preventDefault(); return; }
  form.dataset.sent = "yes";
  keepTyped();
  sessionStorage.setItem("sent", typedSlot(form));
});
window.addEventListener("pageshow", () => {
  for (const form of document.forms) delete form.dataset.sent;
  notBusy(document);
});
window.addEventListener("online", () => { byId("trouble").hidden = true; });

// Troubles of htmx requests, in words.
function trouble(kind) {
  const banner = byId("trouble");
  if (!banner) return;
  banner.querySelector("p").textContent = banner.dataset[kind];
  banner.hidden = false;
}
const kindOf = (status) => (status >= 500 ? "server" : { 403: "refused", 404: "gone", 410: "gone" }[status] || "other");
document.addEventListener("htmx:sendError", () => trouble("line"));
document.addEventListener("htmx:timeout", () => trouble("line"));
document.addEventListener("htmx:responseError", ({ detail: { xhr } }) => { if (xhr.status !== 401) trouble(kindOf(xhr.status)); });
document.addEventListener("htmx:beforeOnLoad", ({ detail: { xhr } }) => { if (xhr.status < 400) byId("trouble").hidden = true; });

// Second tap: <button data-confirm="Tap again to …">; the first tap arms it for four seconds.
document.addEventListener("click", (event) => {
  const button = event.target.closest("[data-confirm]");
  if (!button || button.dataset.armed) return;
  event.preventDefault();
  event.stopImmediatePropagation();
  const label = button.textContent;
  button.textContent = button.dataset.confirm;
  button.dataset.armed = "yes";
  setTimeout(() => { button.textContent = label; delete button.dataset.armed; }, 4000);
}, true);

// Number pad: <button type="button" data-pin="7"> (or "back", "clear") inside the form of its field.
document.addEventListener("click", ({ target }) => {
  const key = target.closest("[data-pin]"), field = key?.form?.querySelector("[data-pin-field]");
  if (!field) return;
  const { pin } = key.dataset;
  if (pin === "back") field.value = field.value.slice(0, -1);
  else if (pin === "clear") field.value = "";
  else if (field.maxLength < 0 || field.value.length < field.maxLength) field.value += pin;
});

// <select data-go> and the like send their form at once; a button stands beside them without a script.
document.addEventListener("change", ({ target }) => { if ("go" in target.dataset) target.form.requestSubmit(); });

document.addEventListener("htmx:sendError", keep);
document.addEventListener("htmx:timeout", keep);
document.addEventListener("htmx:beforeOnLoad", answered);
document.addEventListener("htmx:afterSettle", showUnsent);
window.addEventListener("online", resend);
document.addEventListener("DOMContentLoaded", () => { fill(); resendLater(); });
