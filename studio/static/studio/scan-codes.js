/* Slips are scanned into a field by the phone's own camera: [data-scan] names the field.
   Only where the browser itself reads codes; elsewhere codes are typed. */

const button = document.querySelector("[data-scan]");

if (button && "BarcodeDetector" in window && navigator.mediaDevices) {
  const field = document.getElementById(button.dataset.scan);
  const view = document.querySelector("[data-scan-view]");
  const video = view.querySelector("video");
  const said = view.querySelector("[data-scan-said]");
  const detector = new BarcodeDetector({ formats: ["qr_code"] });
  let stream = null;

  const stop = () => {
    for (const track of stream?.getTracks() ?? []) track.stop();
    stream = null;
    view.hidden = true;
    button.textContent = "Scan slips";
  };

  const look = async () => {
    if (!stream) return;
    try {
      for (const { rawValue } of await detector.detect(video)) {
        const known = field.value.split(/\s+/);
        if (known.includes(rawValue)) continue;
        field.value = `${field.value.trim()} ${rawValue}`.trim();
        said.textContent = `${rawValue} read.`;
      }
    } catch {
      /* a frame that is not there yet */
    }
    setTimeout(look, 200);
  };

  button.hidden = false;
  button.addEventListener("click", async () => {
    if (stream) return stop();
    try {
      stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment" } });
    } catch {
      view.hidden = false;
      said.textContent = "The camera cannot be used here. Type the codes instead.";
      return;
    }
    video.srcObject = stream;
    await video.play();
    view.hidden = false;
    button.textContent = "Stop scanning";
    look();
  });
}
