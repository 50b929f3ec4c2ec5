import { launch } from "./browser.mjs";
const b = await launch(); const p = await b.newPage();
const count = async (f) => (Buffer.from(await p.pdf({format:f})).toString("latin1").match(/\/Type\s*\/Page[^s]/g)?.length ?? 0);
for (const css of ["", "@media print { main > section:not(.sheet) :is(.large,.plot,.bars,.column,figure) svg { max-height: 60mm; width:auto; } }", "@media print { main > section:not(.sheet) figure svg { max-height: 60mm; width:auto; } main > section:not(.sheet) {font-size:.95rem; line-height:1.35} h2{margin-top:1.4rem} }",
 "@media print { main > section:not(.sheet) figure svg { max-height: 46mm; width:auto; } main > section:not(.sheet) {font-size:.95rem; line-height:1.35} h2{margin-top:1.2rem;} figcaption{font-size:.9rem; line-height:1.3} nav{display:none} }"]) {
 await p.goto("file:///tmp/demoN/out/report.html"); if (css) await p.addStyleTag({content:css});
 console.log(await count("Letter"), await count("A4"));
 console.log(await p.evaluate(()=>[...document.querySelectorAll("main > section:not(.sheet):not(.folded) figure")].map(f=>f.className).join(" ").slice(0,300)));
}
await b.close();
