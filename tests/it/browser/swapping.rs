//! A unit swapped for another: everything is told before anything is changed, and one step takes it back.

use loomwright_core::{
    document::{Document, End, Role},
    exchange,
};
use serde_json::Value;

use super::steps::{open_file, open_teasel, select_device_with, stored_project};
use super::{Page, Screen, journey};

async fn text_has(page: &Page, words: &str) {
    let says = format!(
        "document.querySelector('.swap').textContent.includes({})",
        Value::from(words)
    );
    page.wait_until(words, &says, 20).await;
}

async fn put_in(page: &Page) {
    page.press_named(".swap button", "Install the new unit")
        .await;
    page.wait_until(
        "it is in",
        "document.querySelector('.strip .said').textContent.includes('Unit swapped')",
        10,
    )
    .await;
}

/// The same plug and three times the power: the breaker, the drop and the endurance are told before the port
/// is in, and the log has its draft afterwards.
#[test]
fn a_port_with_the_same_plug_and_more_power() {
    journey("swap-port", Screen::TABLET, async |page| {
        open_teasel(page).await;
        page.press(".tabs button:nth-of-type(2)").await;
        select_device_with(page, "terminal:usb2/+").await;
        let before = stored_project(page).await;
        page.press_named(".panel button", "Swap this unit…").await;
        page.wait_for("details.swap[open]").await;
        page.choose(".swap label:nth-of-type(2) select", "part:usb-port")
            .await;
        text_has(page, "No new finding.").await;
        // The manual of the new port says three times the current.
        page.fill(".swap h4 + .paper-fields label:nth-of-type(1) input", "7.5")
            .await;
        page.keys("\u{e007}").await;
        text_has(page, "Breaker or fuse too small for the load").await;
        text_has(page, "Voltage drop over limit").await;
        page.screenshot("told").await;
        for part in ["paper", "button"] {
            let into_view = match part {
                "paper" => "document.querySelector('.swap .on-paper').scrollIntoView()",
                _ => "document.querySelector('.swap button.main').scrollIntoView(false)",
            };
            page.eval(into_view).await;
            page.screenshot(part).await;
        }
        assert_eq!(stored_project(page).await, before, "nothing is changed yet");
        let draft = page
            .eval("document.querySelector('.swap textarea').value")
            .await;
        assert!(
            draft.as_str().is_some_and(|it| it.starts_with("USB2:")),
            "{draft}"
        );
        put_in(page).await;
        let after = stored_project(page).await;
        let load = &after["devices"]["usb2"]["elements"][0]["is"]["load"];
        assert_eq!(load["continuous_a"]["amps"], 7.5);
        assert_eq!(load["continuous_a"]["origin"], "manual");
        let logged = |it: &Value| it["log"].as_object().map_or(0, serde_json::Map::len);
        assert_eq!(logged(&after), logged(&before) + 1);
        page.press(".strip button[aria-label^=Undo]").await;
        page.wait_until(
            "it is taken back",
            "document.querySelector('.strip .said').textContent.includes('Undone')",
            10,
        )
        .await;
        assert_eq!(stored_project(page).await, before, "one step");
    });
}

/// The project with the second radio's pin 3 taken by a dimmer, and one with a unit whose pin 3 is power.
fn radios(base: &[u8]) -> [Document; 2] {
    let mut old = exchange::open(base).expect("our own file").document;
    let third = |document: &mut Document, name: &str, role: Role| {
        let radio = document.devices.get_mut("com2").expect("it");
        let terminals = radio.terminals.iter_mut();
        let found = terminals
            .into_iter()
            .find(|it| it.label == "3")
            .expect("pin 3");
        found.name = name.into();
        found.role = role;
    };
    let mut new = old.clone();
    third(&mut old, "DIMMER", Role::InputPower);
    third(&mut new, "POWER 3", Role::PowerIn);
    new.devices.get_mut("com2").expect("it").title = "Next radio".into();
    let mut wire = old.wires.values().next().expect("a wire").clone();
    wire.number = "L9A22".into();
    (wire.from, wire.to) = (End::Open, End::terminal("com2", "j122-3"));
    old.wires.insert("l9a22".into(), wire);
    [old, new]
}

/// A radio whose pin changed from a dimmer to a power input: the wire there is told before the plug goes in,
/// and goes where the person says.
#[test]
fn a_radio_whose_pin_changed_its_function() {
    journey("swap-radio", Screen::LAPTOP, async |page| {
        open_teasel(page).await;
        let base = serde_json::to_vec(&stored_project(page).await).expect("JSON");
        let [old, new] = radios(&base);
        open_file(page, "old.json", &exchange::save(&old)).await;
        page.wait_until("it is open", "!document.querySelector('#dialog')", 10)
            .await;
        page.press_named(".room-tab", "Log").await;
        page.press("details.swap > summary").await;
        page.choose(".swap label:nth-of-type(1) select", "com2")
            .await;
        page.upload(".swap input[type=file]", "new.json", &exchange::save(&new))
            .await;
        page.wait_until(
            "its units are offered",
            "document.querySelector(\".swap option[value='other:com2']\")",
            10,
        )
        .await;
        page.choose(".swap label:nth-of-type(2) select", "other:com2")
            .await;
        text_has(page, "remove L9A22 before you connect the plug").await;
        text_has(page, "nothing: left open").await;
        page.screenshot("told").await;
        // A person finds a spare pin for it.
        page.eval(
            "(() => { const fields = [...document.querySelectorAll('.swap label')]; \
             const field = fields.find(it => it.textContent.includes('DIMMER')); \
             field.querySelector('select').id = 'the-dimmer'; return true; })()",
        )
        .await;
        page.choose("#the-dimmer", "j122-12").await;
        text_has(page, "by hand").await;
        put_in(page).await;
        let after = stored_project(page).await;
        assert_eq!(after["wires"]["l9a22"]["to"], "terminal:com2/j122-12");
        assert_eq!(after["devices"]["com2"]["title"], "Next radio");
    });
}
