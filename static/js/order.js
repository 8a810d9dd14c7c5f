// The count and cost of what is picked, beside the button that makes the requisition.
"use strict";

const picks = () => [...document.querySelectorAll("#make input[name=item]")];
document.addEventListener("change", ({ target }) => {
  if (!target.matches("#make input[name=item]")) return;
  const picked = picks().filter((box) => box.checked);
  const cost = picked.reduce((sum, box) => sum + Number(box.dataset.cost || 0), 0);
  document.querySelector("[data-picked-count]").textContent = picked.length;
  document.querySelector("[data-picked-cost]").textContent = cost.toLocaleString("en", { minimumFractionDigits: 2, maximumFractionDigits: 2 });
});
