//! Journeys at the wire list: typed into like a spreadsheet, with the drawing beside it.

use super::steps::{NEW_PROJECT, begin, field, menu, open_teasel, stored_project};
use super::{Page, Screen, journey};
use loomwright_core::{exchange, reports::wires, testing::asked};

const DOWN: &str = "\u{e015}";
const RIGHT: &str = "\u{e014}";
const SHIFT: &str = "\u{e008}";
const CONTROL: &str = "\u{e009}";
const ENTER: &str = "\u{e007}";
const ESCAPE: &str = "\u{e00c}";
const HOME: &str = "\u{e011}";
const END: &str = "\u{e010}";

/// The selector of a cell, by row and column from 1.
fn cell(row: u32, column: u32) -> String {
    format!("#wire-grid tbody tr:nth-of-type({row}) td:nth-of-type({column})")
}

async fn cell_says(page: &Page, row: u32, column: u32, text: &str) {
    let says = format!(
        "document.querySelector('{}')?.textContent === '{text}'",
        cell(row, column)
    );
    page.wait_until(&format!("row {row} says {text}"), &says, 5)
        .await;
}

#[test]
fn the_wire_list_is_typed_like_a_spreadsheet() {
    journey("grid-typing", Screen::LAPTOP, async |page| {
        begin(page).await;
        page.press_named(".room-tab", "Build").await;
        page.wait_for(&cell(3, 1)).await;
        page.press(&cell(1, 1)).await;
        page.keys(&format!("X1A20{ENTER}X9A20{ENTER}")).await;
        cell_says(page, 1, 1, "X1A20").await;
        cell_says(page, 2, 1, "X9A20").await;
        page.screenshot("typed").await;

        // Escape leaves the cell as it was.
        page.keys(&format!("never{ESCAPE}")).await;
        let third = page.text(&cell(3, 1)).await;
        assert_ne!(third, "never");

        // A colour into three rows at once, by filling down.
        page.press(&cell(1, 5)).await;
        page.keys(&format!("violet{ENTER}")).await;
        cell_says(page, 1, 5, "violet").await;
        page.press(&cell(1, 5)).await;
        page.keys(&format!("{SHIFT}{DOWN}{DOWN}")).await;
        page.press_named(".grid-tools button", "Fill down").await;
        cell_says(page, 3, 5, "violet").await;

        // A block is copied and pasted two rows on.
        page.press(&cell(1, 5)).await;
        page.keys(&format!("{SHIFT}{DOWN}{RIGHT}")).await;
        page.screenshot("chosen").await;
        let lengths = (page.text(&cell(1, 6)).await, page.text(&cell(2, 6)).await);
        page.keys(&format!("{CONTROL}c")).await;
        page.press(&cell(4, 5)).await;
        page.keys(&format!("{CONTROL}v")).await;
        cell_says(page, 4, 5, "violet").await;
        cell_says(page, 5, 6, &lengths.1).await;
        cell_says(page, 4, 6, &lengths.0).await;

        // A wrong cell is told, and changes nothing.
        let gauge = page.text(&cell(1, 4)).await;
        page.press(&cell(1, 4)).await;
        page.keys(&format!("19{ENTER}")).await;
        page.wait_for(".wrong[role=alert] li").await;
        cell_says(page, 1, 4, &gauge).await;
        page.screenshot("wrong").await;

        let kept = stored_project(page).await;
        assert!(kept.to_string().contains("X9A20"), "what is typed is saved");

        page.press_named(".paper-choice button", "Wire list").await;
        page.press_named(".grid-tools button", "Save as CSV").await;
        let (_, csv) = page.downloaded(".csv", &[]).await;
        let csv = String::from_utf8(csv).expect("a text");
        assert!(csv.contains("\r\nX9A20,"), "the list as it stands");
    });
}

#[test]
fn wires_are_made_in_the_list_beside_the_drawing() {
    journey("grid-beside", Screen::LAPTOP, async |page| {
        open_teasel(page).await;
        let before = page.count("#drawing .g-wire").await;
        page.press("button[aria-label='Wires of this sheet']").await;
        page.wait_for(&cell(2, 1)).await;
        let rows = page.count("#wire-grid tbody tr").await as u32;
        page.press(&cell(rows, 1)).await;
        page.keys(&format!("Z1A22{RIGHT}")).await;
        page.keys(ENTER).await;
        cell_says(page, rows, 1, "Z1A22").await;
        page.press(&cell(rows, 2)).await;
        // An end on another sheet does not take the row away while it is typed.
        page.keys(&format!("FL1 1{ENTER}")).await;
        cell_says(page, rows, 2, "FL1 1").await;
        page.screenshot("new-wire").await;
        page.press(&cell(rows, 1)).await;
        page.keys(&format!("{END}{HOME}")).await;
        page.wait_until(
            "the row's wire is chosen",
            "document.querySelector('#wire-grid tr.c0') || \
             document.querySelector('#wire-grid tbody tr[class*=c0]')",
            5,
        )
        .await;
        let after = page.count("#drawing .g-wire").await;
        assert!(after >= before, "{before} wires before, {after} after");
    });
}

#[test]
fn the_wire_list_is_typed_on_glass() {
    journey("grid-touch", Screen::TABLET, async |page| {
        begin(page).await;
        page.press_named(".room-tab", "Build").await;
        page.wait_for(&cell(2, 8)).await;
        // Without a Shift key a button stretches the choice.
        page.press(&cell(1, 5)).await;
        page.press_named(".grid-tools button", "Select range").await;
        page.press(&cell(3, 5)).await;
        page.press_named(".grid-tools button", "Select range").await;
        page.press_named(".grid-tools button", "Fill down").await;
        cell_says(page, 3, 5, "white").await;
        page.press(&cell(2, 8)).await;
        page.press(&cell(2, 8)).await;
        page.wait_for(".cell-input").await;
        page.keys(&format!(" by hand{ENTER}")).await;
        page.wait_until(
            "the cell was typed into",
            &format!(
                "document.querySelector('{}').textContent.includes('by hand')",
                cell(2, 8)
            ),
            5,
        )
        .await;
        page.screenshot("tablet").await;
    });
}

/// A dozen wires as a spreadsheet copies them.
const LIST: &str = "Wire\tFrom\tTo\tAWG\tColor\tLength (ft)\tSignal\n\
    P5A20\tMBUS CB5\tXP1 J106-1\t20\twhite\t4\tXPDR POWER\n\
    P5B20N\tXP1 J106-9\tGB1 3\t20\tblack\t3.5\tXPDR GROUND\n\
    D1A22\tXP1 J106-5\tFD1 J101-8\t22\twhite\t2\tSERIAL\n\
    D1B22\tXP1 J106-4\tFD1 J101-10\t22\tblue\t2\tSERIAL\n\
    P6A20\tMBUS CB6\tFD1 J101-1\t20\twhite\t3\tDISPLAY POWER\n\
    P6B20N\tFD1 J101-14\tGB1 4\t20\tblack\t3\tDISPLAY GROUND\n";

#[test]
fn a_pasted_list_becomes_drawn_sheets_and_a_sheet_is_tidied() {
    journey("paste-list", Screen::LAPTOP, async |page| {
        begin(page).await;
        menu(page, NEW_PROJECT).await;
        page.press("button.project").await;
        page.press_named("#dialog .menu button", "Paste a wire list…")
            .await;
        page.wait_for(".paste-list").await;

        // A row that cannot be read is told, and nothing is made.
        page.put_text(".paste-list", &LIST.replace("XP1 J106-9", "XP1"))
            .await;
        page.wait_for("#dialog .columns select").await;
        page.screenshot("columns").await;
        page.press("#dialog button.main").await;
        page.wait_for("#dialog .wrong[role=alert] li").await;
        let told = page.text("#dialog .wrong[role=alert] li").await;
        assert!(told.starts_with("row 2, from"), "{told}");

        page.put_text(".paste-list", LIST).await;
        page.press("#dialog button.main").await;
        page.wait_until(
            "six wires are drawn",
            "document.querySelectorAll('#drawing .g-wire').length >= 6",
            10,
        )
        .await;
        page.screenshot("drawn").await;

        // One step of undo takes all of it back.
        page.press(".strip button[aria-label^=Undo]").await;
        page.wait_until(
            "nothing is left",
            "document.querySelectorAll('#drawing .g-wire').length === 0",
            10,
        )
        .await;
        page.press(".strip button[aria-label^='Redone'], .strip button[aria-label^=Redo]")
            .await;
        page.press_named(".tabs button span", "From the list, 1")
            .await;
        page.wait_for("#drawing .g-wire").await;
        page.press_named(".tabs button span", "From the list, 1")
            .await;
        page.press_named(".panel button", "Tidy this sheet").await;
        // Both are shown before anything is moved, and what is taken is one step.
        let looked = "document.querySelectorAll('.panel .looked img').length";
        page.wait_until("before and after", &format!("{looked} === 2"), 60)
            .await;
        page.press_named(".panel button", "Move them so").await;
        page.wait_until("taken", &format!("{looked} === 0"), 20)
            .await;
        page.press_named(".panel button", "Save this sheet as SVG")
            .await;
        let (_, svg) = page.downloaded(".svg", &[]).await;
        assert!(String::from_utf8_lossy(&svg).contains("P5A20"));
        page.screenshot("tidied").await;
    });
}

/// A list that leaves out the unit of its lengths, and the gauge of one wire.
const UNCLEAR: &str = "Wire\tFrom\tTo\tAWG\tLength\n\
    P5A20\tMBUS CB5\tXP1 J106-1\t20\t4\n\
    P5B20N\tXP1 J106-9\tGB1 3\t\t3.5\n";

#[test]
fn a_list_without_unit_or_gauge_asks_for_them() {
    journey("paste-choices", Screen::TABLET, async |page| {
        begin(page).await;
        menu(page, NEW_PROJECT).await;
        page.press("button.project").await;
        page.press_named("#dialog .menu button", "Paste a wire list…")
            .await;
        page.put_text(".paste-list", UNCLEAR).await;
        let unit = field(page, "#dialog", "Unit of lengths").await;
        let gauge = field(page, "#dialog", "Gauge, rows without one").await;
        let value = async |css: &str| {
            page.eval(&format!("document.querySelector({css:?}).value"))
                .await
        };
        let is_off = async || {
            page.eval("document.querySelector('#dialog button.main').disabled")
                .await
        };
        assert_eq!(value(&unit).await, "", "nothing is chosen beforehand");
        assert_eq!(value(&gauge).await, "");
        assert_eq!(is_off().await, true);
        page.choose(&unit, "ft").await;
        assert_eq!(is_off().await, false, "a gauge may be not set");
        page.choose(&gauge, "18").await;
        // What each new device is, by its letters; and the sheets, before anything is added.
        let bus = field(page, "#dialog", "MBUS").await;
        assert_eq!(value(&bus).await, "bus");
        let unit = field(page, "#dialog", "XP1").await;
        assert_eq!(value(&unit).await, "unit");
        page.press_named("#dialog button", "Look at the sheets first")
            .await;
        let drawn = "document.querySelector('#dialog .looked-at')?.naturalWidth > 0";
        page.wait_until("the new sheet", drawn, 60).await;
        page.screenshot("asked").await;
        page.press("#dialog button.main").await;
        page.wait_for("#drawing .g-wire").await;
        let wires = stored_project(page).await["wires"].clone();
        let wires: Vec<_> = wires
            .as_object()
            .expect("wires")
            .values()
            .cloned()
            .collect();
        let of = |number: &str| {
            let wire = wires.iter().find(|it| it["number"] == number);
            wire.cloned().expect("it is made")
        };
        assert_eq!(of("P5A20")["gauge_awg"], 20);
        assert_eq!(of("P5B20N")["gauge_awg"], 18);
        let m = of("P5A20")["length_m"].as_f64().expect("a length");
        assert!((m - 4.0 * 0.3048).abs() < 1e-9, "{m}");
    });
}

#[test]
fn a_whole_panel_is_drawn_from_its_list_in_four_presses() {
    journey("panel-from-list", Screen::LAPTOP, async |page| {
        let file = std::fs::read(loomwright_tests::top().join("public/samples/teasel.json"));
        let teasel = exchange::open(&file.expect("the sample is there"));
        let teasel = teasel.expect("the sample opens").document;
        let csv = wires::table(&asked(&teasel), None).to_csv();
        begin(page).await;
        menu(page, NEW_PROJECT).await;
        page.press("button.project").await;
        page.press_named("#dialog .menu button", "Paste a wire list…")
            .await;
        page.wait_for(".paste-list").await;
        page.put_text(".paste-list", &csv).await;
        page.press("#dialog button.main").await;
        page.wait_until("the box goes", "!document.querySelector('#dialog')", 10)
            .await;
        page.wait_for("#drawing .g-wire").await;
        let kept = stored_project(page).await;
        let count = |kind: &str| kept[kind].as_object().map_or(0, serde_json::Map::len);
        assert_eq!(count("wires"), teasel.wires.len());
        assert_eq!(count("splices"), teasel.splices.len());
        page.screenshot("first").await;
        // Every sheet can be opened, and shows something.
        for sheet in 2..=count("sheets") {
            page.press(&format!(".tabs button:nth-of-type({sheet})"))
                .await;
            page.wait_for("#drawing .g-item").await;
            page.screenshot(&format!("sheet-{sheet}")).await;
        }
    });
}
