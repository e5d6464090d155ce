//! Fields and buttons of the details: what is typed or pressed there is in the project.

use serde_json::Value;

use super::steps::{
    add_device, begin_empty, ends_of_item, field, on_drawing, open_teasel, pin, select_device_with,
    sheet_is_empty, stored_project,
};
use super::{Page, Screen, journey};

/// The first load of the device with this key, as it is stored.
async fn load_of(page: &Page, device: &str) -> Value {
    let project = stored_project(page).await;
    let elements = project["devices"][device]["elements"].as_array().cloned();
    let elements = elements.unwrap_or_default();
    let load = elements.iter().find_map(|it| it["is"].get("load"));
    load.cloned().expect("it has a load")
}

#[test]
fn a_load_keeps_the_voltage_it_stops_at_and_either_polarity() {
    journey("load-fields", Screen::LAPTOP, async |page| {
        begin_empty(page).await;
        let at = on_drawing(page, 0.5, 0.4).await;
        add_device(page, "Map light", at).await;
        let ends = ends_of_item(page, 0).await;
        let device = ends[0].trim_start_matches("terminal:").split('/').next();
        let device = device.expect("a key").to_owned();
        select_device_with(page, &ends[0]).await;
        let cutoff = field(page, ".panel", "Stops working below, V").await;
        page.fill(&cutoff, "9.5").await;
        let either = field(page, ".panel", "Works in either polarity").await;
        page.press(&either).await;
        page.press(".panel h2").await;
        let load = load_of(page, &device).await;
        assert_eq!(load["cutoff_v"], 9.5, "{load}");
        assert_eq!(load["either_way"], true, "{load}");
        // What is emptied is not set, not zero.
        page.fill(&cutoff, " ").await;
        page.press(&either).await;
        page.press(".panel h2").await;
        let load = load_of(page, &device).await;
        assert!(load.get("cutoff_v").is_none_or(Value::is_null), "{load}");
        assert_ne!(load["either_way"], true, "{load}");
    });
}

#[test]
fn an_empty_sheet_says_how_to_go_on() {
    journey("empty-sheets", Screen::TABLET, async |page| {
        begin_empty(page).await;
        let hint = page.text(".hint").await;
        assert!(hint.contains("begin with a battery"), "{hint:?}");
        let at = on_drawing(page, 0.5, 0.4).await;
        add_device(page, "Battery", at).await;
        page.press(".rail [data-tool=select]").await;
        page.wait_until(
            "no hint on a sheet with a device",
            "!document.querySelector('.hint')?.textContent.trim()",
            5,
        )
        .await;
        page.press("[aria-label='Add a sheet']").await;
        sheet_is_empty(page).await;
        let hinted = "document.querySelector('.hint')?.textContent.trim()";
        page.wait_until("it says how to go on", hinted, 5).await;
        let hint = page.text(".hint").await;
        assert!(!hint.contains("battery"), "the battery is there: {hint:?}");
        assert!(hint.contains("show some of the aircraft"), "{hint:?}");
    });
}

#[test]
fn a_device_is_removed_from_a_sheet_or_deleted_from_the_aircraft() {
    journey("delete-or-remove", Screen::LAPTOP, async |page| {
        open_teasel(page).await;
        let device = "jk8";
        let shown = |project: &Value| {
            let sheets = project["sheets"].as_object().cloned().unwrap_or_default();
            let items = sheets.values().filter_map(|it| it["items"].as_object());
            let mut items = items.flat_map(|it| it.values());
            items.any(|it| it["shows"]["device"]["device"] == device)
        };
        assert!(shown(&stored_project(page).await));
        select_device_with(page, "terminal:jk8/ring").await;
        page.press_named(".panel button", "Remove from this sheet")
            .await;
        page.wait_until(
            "it is off the sheet",
            &format!("!document.querySelector({:?})", pin("terminal:jk8/ring")),
            5,
        )
        .await;
        let project = stored_project(page).await;
        assert!(!shown(&project), "shown no more");
        assert!(
            project["devices"][device].is_object(),
            "but still in the aircraft"
        );
        page.press(".strip button[aria-label^=Undo]").await;
        page.wait_for(&pin("terminal:jk8/ring")).await;

        select_device_with(page, "terminal:jk8/ring").await;
        let reach = page.text(".panel").await;
        assert!(reach.contains("Shown on 1 sheet;"), "{reach:?}");
        page.press_named(".panel button", "Delete from the aircraft: 1 sheet")
            .await;
        page.wait_until(
            "it is gone",
            &format!("!document.querySelector({:?})", pin("terminal:jk8/ring")),
            5,
        )
        .await;
        let project = stored_project(page).await;
        assert!(project["devices"][device].is_null());
        page.press(".strip button[aria-label^=Undo]").await;
        page.wait_for(&pin("terminal:jk8/ring")).await;

        // On no other sheet, and wired: the command asks, and is meant when it comes once more.
        select_device_with(page, "terminal:jk8/ring").await;
        page.press_named(".rail button", "Delete").await;
        page.wait_until(
            "it asks",
            "document.querySelector('.said').textContent.includes('JK8 is on no other sheet')",
            5,
        )
        .await;
        page.wait_for(&pin("terminal:jk8/ring")).await;
        page.press_named(".rail button", "Delete").await;
        page.wait_until(
            "it is gone",
            &format!("!document.querySelector({:?})", pin("terminal:jk8/ring")),
            5,
        )
        .await;
        page.press(".strip button[aria-label^=Undo]").await;
        page.wait_for(&pin("terminal:jk8/ring")).await;
    });
}

#[test]
fn the_shield_of_a_cable_is_connected_where_a_person_chooses() {
    journey("cable-panel", Screen::TABLET, async |page| {
        open_teasel(page).await;
        let project = stored_project(page).await;
        let cables = project["cables"].as_object().cloned().unwrap_or_default();
        let (id, cable) = cables
            .iter()
            .find(|(_, it)| !it["shield"].is_null())
            .expect("one");
        let before = cable["shield"].clone();
        page.press("[aria-label='Find']").await;
        page.fill("#dialog input", cable["label"].as_str().expect("a label"))
            .await;
        page.press("#dialog li button").await;
        let shielded = field(page, ".panel", "Shielded").await;
        // Without a shield, then with one again: no end is connected unless a person says where.
        page.press(&shielded).await;
        page.press(&shielded).await;
        let new = stored_project(page).await["cables"][id]["shield"].clone();
        assert_eq!(
            (&new["from"], &new["to"]),
            (&"floating".into(), &"floating".into()),
            "{new}"
        );
        let state = field(page, ".panel .element", "Shield").await;
        page.choose(&state, "tied").await;
        page.wait_until(
            "it asks where",
            "document.querySelector('.panel .element .hush')",
            5,
        )
        .await;
        let waiting = stored_project(page).await["cables"][id]["shield"].clone();
        assert_eq!(
            waiting["from"], "floating",
            "nothing is chosen beforehand: {waiting}"
        );
        let to = field(page, ".panel .element", "Shield connects to").await;
        let first = page
            .eval(&format!(
                "[...document.querySelector({to:?}).options].map(one => [one.value, one.selected])"
            ))
            .await;
        assert_eq!(first[0], serde_json::json!(["", true]), "{first}");
        let point = first[1][0].as_str().expect("a point").to_owned();
        page.choose(&to, &point).await;
        let tied = stored_project(page).await["cables"][id]["shield"].clone();
        assert_eq!(tied["from"]["tied"]["at"], point, "{tied}");
        assert_ne!(tied, before);
    });
}
