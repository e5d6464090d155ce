//! How long frames are while a sheet is moved, pinched and a device dragged, and how long a tap, a typed
//! field and a drop take to be painted, on projects of 600 and 5,000 wires. The figures are printed, not
//! held: a busy machine is no fault of the app.

use loomwright_core::{exchange, testing::aircraft};

use super::steps::{begin, open_file};
use super::{Page, Screen, journey};

/// Frames of a movement, and times of each interaction.
const FRAMES: usize = 180;
const TIMES: usize = 50;

/// Gives the page a function that calls back when the next frame has been painted.
pub const AFTER_PAINT: &str = "(() => { window.after_paint = call => requestAnimationFrame(() => { \
    const channel = new MessageChannel(); \
    channel.port1.onmessage = call; \
    channel.port2.postMessage(0); }); return true; })()";

/// What the page needs: a pointer that is moved a little with each frame, and the time from something done
/// to the frame that shows it.
const TOOLS: &str = "(() => { \
    const drawing = document.querySelector('#drawing'); \
    const point = (type, id, x, y, buttons, pointerType) => \
        (document.elementFromPoint(x, y) || drawing).dispatchEvent(new PointerEvent(type, { \
            pointerId: id, pointerType, clientX: x, clientY: y, button: type == 'pointermove' ? -1 : 0, \
            buttons, isPrimary: id == 1, bubbles: true, cancelable: true })); \
    window.point = point; \
    window.middle = css => { const box = document.querySelector(css).getBoundingClientRect(); \
        return [box.x + box.width / 2, box.y + box.height / 2]; }; \
    window.frames_of = (count, move) => new Promise(done => { \
        const took = []; let last = 0, n = 0; \
        const tick = now => { \
            if (last) took.push(now - last); \
            last = now; \
            if (n < count) { move(n++); requestAnimationFrame(tick); } else done(took); }; \
        requestAnimationFrame(tick); }); \
    window.painted = act => new Promise(done => requestAnimationFrame(() => setTimeout(() => { \
        const start = performance.now(); \
        act(); \
        after_paint(() => done(performance.now() - start)); }, Math.random() * 16))); \
    window.findings = () => \
        window.found.push(performance.getEntriesByName('findings').at(-1).duration); \
    return true; })()";

#[test]
fn frames_and_interactions_are_traced() {
    for wires in [600, 5000] {
        let project = exchange::save(&aircraft(wires));
        journey(&format!("frames-{wires}"), Screen::LAPTOP, async |page| {
            begin(page).await;
            open_file(page, "made.json", &project).await;
            page.wait_until(
                "the project is open and checked",
                "!document.querySelector('#dialog') \
                 && [...document.querySelectorAll('#drawing .g-item')].length > 20",
                60,
            )
            .await;
            // Its first check, which may run apart, is not what is measured.
            page.wait_until("checked", "!document.querySelector('.strip progress')", 60)
                .await;
            tokio::time::sleep(std::time::Duration::from_secs(3)).await;
            page.press(".rail [data-tool=select]").await;
            page.press(".zoom [aria-label='Whole sheet']").await;
            page.eval(AFTER_PAINT).await;
            page.eval(TOOLS).await;
            movements(page, wires).await;
            interactions(page, wires).await;
            page.screenshot("traced").await;
        });
    }
}

async fn movements(page: &Page, wires: usize) {
    let back_and_forth = "const far = n => 120 * Math.sin(n / 12)";
    let pan = format!(
        "(() => {{ {back_and_forth}; const box = drawing.getBoundingClientRect(); \
         const [x, y] = [box.x + box.width - 12, box.y + 12]; \
         point('pointerdown', 1, x, y, 1, 'touch'); \
         return frames_of({FRAMES}, n => point('pointermove', 1, x - Math.abs(far(n)), y, 1, 'touch')) \
            .then(took => {{ point('pointerup', 1, x, y, 0, 'touch'); return took; }}); }})()"
    );
    measure(page, wires, ("panning with a finger", 0.95), &pan).await;
    let pinch = format!(
        "(() => {{ {back_and_forth}; const [x, y] = middle('#drawing'); \
         point('pointerdown', 1, x - 60, y, 1, 'touch'); point('pointerdown', 2, x + 60, y, 1, 'touch'); \
         return frames_of({FRAMES}, n => {{ const apart = 60 + Math.abs(far(n)) / 2; \
                point('pointermove', 1, x - apart, y, 1, 'touch'); \
                point('pointermove', 2, x + apart, y, 1, 'touch'); }}) \
            .then(took => {{ point('pointerup', 1, x - 60, y, 0, 'touch'); \
                point('pointerup', 2, x + 60, y, 0, 'touch'); return took; }}); }})()"
    );
    measure(page, wires, ("pinching", 0.95), &pinch).await;
    page.press(".zoom [aria-label='Whole sheet']").await;
    let drag = format!(
        "(() => {{ {back_and_forth}; const [x, y] = middle('#drawing .scene > .g-item'); \
         point('pointerdown', 1, x, y, 1, 'mouse'); \
         return frames_of({FRAMES}, n => \
                point('pointermove', 1, x + Math.abs(far(n)), y + n / 4, 1, 'mouse')) \
            .then(took => {{ point('pointerup', 1, x, y, 0, 'mouse'); return took; }}); }})()"
    );
    measure(page, wires, ("dragging a device", 0.95), &drag).await;
}

async fn interactions(page: &Page, wires: usize) {
    let many = |act: &str| {
        format!(
            "(async () => {{ const took = []; \
             const items = [...document.querySelectorAll('#drawing .scene > .g-item')].map(item => {{ \
                const box = item.getBoundingClientRect(); \
                return [box.x + box.width / 2, box.y + box.height / 2]; }}); \
             window.found = []; \
             for (let n = 0; n < {TIMES}; n++) {{ {act} }} return took; }})()"
        )
    };
    let tap = many(
        "const [x, y] = items[n % 2]; took.push(await painted(() => { \
         point('pointerdown', 1, x, y, 1, 'touch'); point('pointerup', 1, x, y, 0, 'touch'); }));",
    );
    measure(page, wires, ("a tap on a device", 0.98), &tap).await;
    let drop = many(
        "const [x, y] = middle('#drawing .scene > .g-item'); const to = n % 2 ? -20 : 20; \
         point('pointerdown', 1, x, y, 1, 'mouse'); \
         for (let m = 1; m <= 4; m++) { point('pointermove', 1, x + to * m / 4, y, 1, 'mouse'); \
            await new Promise(requestAnimationFrame); } \
         took.push(await painted(() => point('pointerup', 1, x + to, y, 0, 'mouse')));",
    );
    measure(page, wires, ("a device dropped", 0.98), &drop).await;
    page.press("#drawing .scene > .g-wire [data-hit], #drawing .scene > .g-wire path")
        .await;
    page.wait_for(".panel input[inputmode=decimal]").await;
    let field = many(
        "const field = document.querySelector('.panel input[inputmode=decimal]'); \
         field.focus(); field.value = (1 + n / 100).toFixed(2); \
         field.dispatchEvent(new Event('input', { bubbles: true })); \
         took.push(await painted(() => field.dispatchEvent(new Event('change', { bubbles: true })))); \
         findings();",
    );
    measure(page, wires, ("a typed length", 0.98), &field).await;
    measure(page, wires, ("findings after a typed length", 0.5), "found").await;
    page.press_named(".rail button", "Delete").await;
    page.wait_until(
        "a wire can be put back",
        "document.querySelector('[aria-label^=\"Undo: Delete\"]')",
        5,
    )
    .await;
    let wire = many(
        "const button = document.querySelector(`[aria-label^=${n % 2 ? 'Redo' : 'Undo'}]`); \
         took.push(await painted(() => button.click())); findings();",
    );
    measure(page, wires, ("a wire drawn or deleted", 0.5), &wire).await;
    measure(page, wires, ("findings after a wire", 0.5), "found").await;
}

/// Runs a script that gives times, ms, and prints them. The share of them that is within the measured figure is named.
async fn measure(page: &Page, wires: usize, (what, share): (&str, f64), script: &str) {
    let script = format!(
        "(() => {{ const drawing = document.querySelector('#drawing'); return {script}; }})()"
    );
    let times = page.eval(&script).await;
    let times = times.as_array().into_iter().flatten();
    let mut times_ms: Vec<f64> = times.filter_map(serde_json::Value::as_f64).collect();
    assert!(times_ms.len() >= TIMES, "{what}: {times_ms:?}");
    times_ms.sort_by(f64::total_cmp);
    let at = |share: f64| times_ms[((times_ms.len() - 1) as f64 * share).round() as usize];
    println!(
        "{wires} wires, {what}: median {:.1} ms, p95 {:.1}, p98 {:.1}, worst {:.1}, of {}",
        at(0.5),
        at(0.95),
        at(0.98),
        at(1.0),
        times_ms.len()
    );
    let mark = format!("frames/{wires}/{what}");
    crate::measured::keep(&mark, &format!("{:.0} ms", at(share)));
}
