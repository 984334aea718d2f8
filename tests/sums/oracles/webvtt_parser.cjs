// What npm's webvtt-parser makes of the file on standard input: its errors, and its cues.
const { WebVTTParser } = require(`${process.argv[2]}/node_modules/webvtt-parser`);

let text = "";
process.stdin.setEncoding("utf8");
process.stdin.on("data", (piece) => { text += piece; });
process.stdin.on("end", () => {
    const { cues, errors } = new WebVTTParser().parse(text, "subtitles/captions/descriptions");
    const plain = (node) => (node.type === "text" ? node.value : (node.children || []).map(plain).join(""));
    const found = cues.map((cue) => ({
        id: cue.id, start: cue.startTime, end: cue.endTime, text: plain(cue.tree),
    }));
    process.stdout.write(JSON.stringify({ errors: errors.map((error) => error.message), cues: found }));
});
