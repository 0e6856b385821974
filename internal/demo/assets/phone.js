// On a narrow screen the phone and the staff view take turns; everything else is done
// by the staff view's own script, which this page shares.
"use strict";
(() => {
  const buttons = [...document.querySelectorAll("[data-show]")];
  function turn(side) {
    document.body.dataset.side = side;
    for (const b of buttons) b.setAttribute("aria-pressed", String(b.dataset.show === side));
  }
  for (const b of buttons) b.addEventListener("click", () => turn(b.dataset.show));
  document.addEventListener("click", (e) => {
    if (e.target.closest("a[target=staff]")) turn("staff");
  });
})();
