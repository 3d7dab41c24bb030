// Only comforts for the kiln pages: every page works without this file.
(function () {
  "use strict";
})();
