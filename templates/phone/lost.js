/* On the page for a name that is not there: a name typed in other letters leads to its page, with the dose behind
   the #, and the links start from the folder in which the name was looked for. */
"use strict";
(function () {
  const parts = location.pathname.replace(/\/+$/, "").split("/"), name = parts.pop(), root = parts.join("/") + "/";
  for (const row of document.querySelectorAll("#all li")) {
    const link = row.querySelector("a"), plain = link.getAttribute("href").split("/")[1], code = row.dataset.code;
    link.href = root + plain + "/";
    const meant = [code, plain].some((one) => one.toLowerCase() === name.toLowerCase());
    // The name as it should be is not looked for again: its page would be here if the site were whole.
    if (meant && ![code, code.toLowerCase(), plain].includes(name)) { location.replace(root + code + "/" + location.hash); }
  }
})();
