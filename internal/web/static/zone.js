// The time zone of the browser, offered where none is written yet.
//
// <input data-zone>. Without this file the zone is chosen from the list or typed.
(() => {
  "use strict";
  const zone = Intl.DateTimeFormat().resolvedOptions().timeZone;
  for (const field of document.querySelectorAll("input[data-zone]")) if (!field.value && zone) field.value = zone;
})();
