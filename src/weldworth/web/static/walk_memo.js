// A voice memo as the browser's own recorder makes it.
const FORMS = ["audio/webm;codecs=opus", "audio/mp4", "audio/ogg;codecs=opus"];
const ENDINGS = { "audio/webm": "webm", "audio/mp4": "m4a", "audio/ogg": "ogg" };

export class Memo {
  ticked() {}
  async start() {
    this.stream = await navigator.mediaDevices.getUserMedia({ audio: true });
    const mimeType = FORMS.find((one) => MediaRecorder.isTypeSupported(one));
    this.recorder = new MediaRecorder(this.stream, { mimeType, audioBitsPerSecond: 32000 });
    this.parts = [];
    this.recorder.addEventListener("dataavailable", (event) => { if (event.data.size) this.parts.push(event.data); });
    this.recorder.start(1000);
    this.begun = performance.now();
    this.clock = setInterval(() => this.ticked(this.seconds), 250);
  }
  get seconds() { return (performance.now() - this.begun) / 1000; }
  /* The file, or null where nothing was recorded. */
  async stop() {
    clearInterval(this.clock);
    if (!this.recorder) return { file: null, seconds: 0 };
    const seconds = this.seconds;
    if (this.recorder.state !== "inactive") {
      const ended = new Promise((done) => this.recorder.addEventListener("stop", done, { once: true }));
      this.recorder.stop();
      await ended;
    }
    for (const track of this.stream.getTracks()) track.stop();
    const type = this.recorder.mimeType.split(";")[0];
    return { file: this.parts.length ? new File(this.parts, `memo.${ENDINGS[type] ?? "webm"}`, { type }) : null, seconds };
  }
}
