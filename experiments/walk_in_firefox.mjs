// Walk the pages in Firefox as a person would, and tell what its console said. Not part of CI, which walks Chromium.
//
// Needs node, Firefox, and puppeteer-core in the folder where you stand (npm install puppeteer-core). Serve a copy of the
// demo, which is changed and saved (ringwright init --demo copy; ringwright serve copy --port 8000), then:
// node walk_in_firefox.mjs http://localhost:8000 /usr/bin/firefox-esr pictures
import fs from "node:fs";
import process from "node:process";
import puppeteer from "puppeteer-core";

const [server, firefox, pictures] = process.argv.slice(2);
fs.mkdirSync(pictures, { recursive: true });
const browser = await puppeteer.launch({ browser: "firefox", executablePath: firefox, headless: true });
console.log(await browser.version());
const page = await browser.newPage();
const wrong = [];
page.on("pageerror", (error) => wrong.push(String(error)));
page.on("console", (message) => message.type() === "error" && wrong.push(message.text()));

const settled = () =>
  page.waitForFunction(
    () => document.body.dataset.fresh === "yes" && !document.querySelector("[aria-busy=true]") && document.querySelector("#rooms .walls"),
    { timeout: 30000 },
  );
const mass = () => page.$eval("#f-traveller", (one) => one.value);
const picture = (name) => page.screenshot({ path: `${pictures}/${name}.png`, fullPage: true });

function is(told, held) {
  console.log(held ? "holds" : "FAILS", told);
  if (!held) wrong.push(told);
}

for (const width of [1440, 820, 390]) {
  await page.setViewport({ width, height: 900 });
  await page.goto(`${server}/bench/F1/AV30K?part=ring`);
  await settled();
  await picture(`bench-${width}`);
  is(`the bench fits ${width} px`, await page.evaluate(() => document.documentElement.scrollWidth <= window.innerWidth));
}
await page.setViewport({ width: 1440, height: 900 });
await page.goto(`${server}/bench/F1/AV30K?part=ring`);
await settled();
const widths = await page.evaluate(async () => {
  await document.fonts.ready;
  const pen = document.createElement("canvas").getContext("2d");
  return [400, 640, 720].map((weight) => {
    pen.font = `${weight} 200px "Sofia Sans"`;
    return pen.measureText("Ringwright").width;
  });
});
is(`the face has its weights (${widths.map(Math.round)})`, widths[0] < widths[1] && widths[1] < widths[2]);
const slider = await (await page.$("#s-traveller")).boundingBox();
const [least, most, now] = await page.$eval("#s-traveller", (one) => [one.min, one.max, one.value].map(Number));
const [x, y] = [slider.x + 8 + ((slider.width - 16) * (now - least)) / (most - least), slider.y + slider.height / 2];
await page.mouse.move(x, y);
await page.mouse.down();
await page.mouse.move(x + 50, y, { steps: 12 });
await page.mouse.up();
await settled();
const dragged = await mass();
is("a slider is dragged", dragged !== "45 mg");
await page.keyboard.down("Control");
await page.keyboard.press("z");
await page.keyboard.up("Control");
await settled();
is("undone", (await mass()) === "45 mg");
await page.reload();
await settled();
is("a reload keeps field and slider together", (await page.$eval("#s-traveller", (one) => one.value)) === "45");
await Promise.all([page.waitForNavigation(), page.click("#keep")]);
await page.goto(`${page.url().replace("part=ring", "part=balloon")}&traveller=38%20mg`);
await settled();
const drawn = () => page.$eval("#balloon", (one) => one.toDataURL());
const before = await drawn();
await page.focus("#balloon");
await page.keyboard.press("ArrowRight");
is("the balloon turns", (await drawn()) !== before);
await picture("compared");

await page.goto(`${server}/doff/F1/AV30K?beside=control-ring`);
await page.waitForSelector("#play:not([disabled])");
await page.focus("#at");
await page.keyboard.press("End");
is("the doff is played to its end", /^Minute (\d+) of \1,/.test(await page.$eval("#moment", (one) => one.textContent)));
await picture("doff");

await page.goto(`${server}/mill/yarn/AV30K`);
const count = 'input[name="v:yarn.AV30K.count"]';
await page.$eval(count, (one) => {
  one.value = one.value === "19.8 tex" ? "19.9 tex" : "19.8 tex";
});
await Promise.all([page.waitForNavigation(), page.click("button[value=look]")]);
await picture("difference");
await Promise.all([page.waitForNavigation(), page.click("button[value=save]")]);
is("a change is saved", (await page.$eval("header .told", (one) => one.textContent)) === "Saved.");

await page.goto(`${server}/card/F1/AV30K`);
await picture("card");
const pdf = await page.evaluate(async (at) => (await fetch(at)).headers.get("content-type"), await page.$eval(".button.main", (one) => one.href));
is("the card is a PDF", pdf === "application/pdf");

await browser.close();
console.log(wrong.length ? `${wrong.length} wrong:\n${wrong.join("\n")}` : "Nothing wrong.");
process.exitCode = wrong.length ? 1 : 0;
