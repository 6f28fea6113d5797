// Inflates the script of the page and starts it. Where the browser has no way to, the page goes on saying so.
(async () => {
  "use strict";
  if (!window.DecompressionStream) return;
  const bytes = Uint8Array.from(atob(document.getElementById("code").textContent), (sign) => sign.charCodeAt(0));
  const inflated = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("deflate"));
  const code = document.createElement("script");
  code.textContent = await new Response(inflated).text();
  document.body.append(code);
})();
