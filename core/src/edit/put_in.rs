//! Values entered in a paper: meter readings and amounts in stock.

use super::{Change, EditError, Key, Record, update_record};
use crate::{
    document::{Document, End, Reading, Test, folded},
    units::{length_m, number},
};

/// Words for a reading beyond the meter's range.
const OVER_RANGE: [&str; 7] = ["open", "ol", "o.l", "o.l.", "0l", "inf", "∞"];
/// Words for a line that passed without a figure.
const FOUND_RIGHT: [&str; 5] = ["ok", "yes", "pass", "passed", "✓"];

/// Stores a reading between two ends. A value typed again replaces the first; an empty text removes it. "0.2",
/// "1.5k", "2M", "open" and "ok" are understood.
///
/// # Errors
/// [`EditError::Cannot`] if the text is none of these; [`EditError::Breaks`] if an end does not exist.
pub fn put_reading(
    document: &Document,
    key: ReadingKey<'_>,
    typed: &str,
    who: &str,
    date: &str,
) -> Result<Change, EditError> {
    put(document, (key, false), typed, (who, date))
}

/// The same for the ohms from the barrel of a jack to the panel, while the jack is mounted and not wired yet.
///
/// # Errors
/// As [`put_reading`].
pub fn put_before_wiring(
    document: &Document,
    (barrel, panel): (&End, &End),
    typed: &str,
    who: &str,
    date: &str,
) -> Result<Change, EditError> {
    let key = (Test::Isolation, barrel, panel, None);
    put(document, (key, true), typed, (who, date))
}

type ReadingKey<'a> = (Test, &'a End, &'a End, Option<&'a (String, usize)>);

fn put(
    document: &Document,
    ((test, from, to, position), before_wiring): (ReadingKey<'_>, bool),
    typed: &str,
    (who, date): (&str, &str),
) -> Result<Change, EditError> {
    let is_it = |it: &Reading| {
        let ends = (&it.from, &it.to);
        let same_ends = ends == (from, to) || ends == (to, from);
        it.test == test
            && same_ends
            && it.position.as_ref() == position
            && it.before_wiring == before_wiring
    };
    let there = document
        .readings
        .iter()
        .find(|(_, it)| is_it(it))
        .map(|(id, _)| id);
    if typed.trim().is_empty() {
        return match there {
            Some(id) => super::delete(document, &[Key::Reading(id.clone())]),
            None => Ok(Change::default()),
        };
    }
    let (value, over_range) = read(typed).ok_or_else(|| {
        EditError::cannot(
            format!("\"{}\" is no reading", typed.trim()),
            "write a number as 0.2, 1.5k or 2M, or \"open\", or \"ok\"",
        )
    })?;
    let reading = Reading {
        test,
        from: from.clone(),
        to: to.clone(),
        position: position.cloned(),
        before_wiring,
        value,
        over_range,
        who: who.trim().into(),
        date: date.into(),
        extra: crate::document::Extra::new(),
    };
    match there {
        Some(id) => update_record(
            document,
            &Key::Reading(id.clone()),
            Record::Reading(reading),
        ),
        None => super::add_record(document, Record::Reading(reading)),
    }
}

/// A value, and whether it was beyond the meter's range.
fn read(typed: &str) -> Option<(Option<f64>, bool)> {
    let text = folded(typed.trim());
    if OVER_RANGE.contains(&&*text) {
        return Some((None, true));
    }
    if FOUND_RIGHT.contains(&&*text) {
        return Some((None, false));
    }
    let typed = typed.trim().trim_end_matches(['Ω', 'V', 'A', ' ']);
    let (digits, times) = match typed.chars().next_back()? {
        'k' | 'K' => (&typed[..typed.len() - 1], 1e3),
        'M' => (&typed[..typed.len() - 1], 1e6),
        _ => (typed, 1.0),
    };
    Some((Some(number(digits)? * times), false))
}

/// Stores the amount in stock for a line of the order list; an empty text removes it. A length is typed in feet or
/// meters as the project shows them, and stored in meters.
///
/// # Errors
/// [`EditError::Cannot`] if the text is not an amount.
pub fn put_stock(
    document: &Document,
    (line, is_length): (&str, bool),
    typed: &str,
) -> Result<Change, EditError> {
    let mut project = document.project.clone();
    match typed.trim() {
        "" => {
            project.stock.remove(line);
        }
        typed => {
            let amount = match is_length {
                true => length_m(typed, project.show_feet),
                false => number(typed),
            };
            let amount = amount.filter(|it| *it >= 0.0).ok_or_else(|| {
                EditError::cannot(
                    format!("\"{typed}\" is no amount"),
                    "write a number, 0 or more",
                )
            })?;
            project.stock.insert(line.into(), amount);
        }
    }
    update_record(document, &Key::Project, Record::Project(project))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::document;

    fn ends() -> (End, End) {
        (End::terminal("GB1", "A"), End::terminal("GB1", "B"))
    }

    #[test]
    fn a_length_on_the_shelf_is_typed_as_it_is_shown() {
        let mut document = document("ground GB1 A B");
        document.project.show_feet = true;
        let mut put = |line, is_length| {
            let change = put_stock(&document, (line, is_length), "10").expect("an amount");
            change.apply(&mut document).expect("made for it");
            document.project.stock[line]
        };
        assert!((put("Wire: 22 AWG white", true) - 3.048).abs() < 1e-9);
        assert_eq!(put("Contacts: pin", false), 10.0);
    }

    #[test]
    fn a_reading_before_wiring_is_kept_beside_the_one_after() {
        let mut document = document("ground GB1 A B");
        let (a, b) = ends();
        let before = put_before_wiring(&document, (&a, &b), "open", "ME", "2026-03-01");
        before.expect("a reading").apply(&mut document).expect("it");
        let key = (Test::Isolation, &a, &b, None);
        let after = put_reading(&document, key, "0.1", "ME", "2026-03-02").expect("a reading");
        after.apply(&mut document).expect("made for it");
        let told: Vec<_> = (document.readings.values())
            .map(|it| (it.before_wiring, it.shown()))
            .collect();
        assert_eq!(told.len(), 2);
        assert!(told.contains(&(true, "open".into())), "{told:?}");
        assert!(told.contains(&(false, "0.1".into())), "{told:?}");
    }

    #[test]
    fn a_reading_is_kept_replaced_and_taken_away() {
        let mut document = document("ground GB1 A B");
        let (a, b) = ends();
        let put = |document: &mut Document, typed: &str, ends: [&End; 2]| {
            let key = (Test::Continuity, ends[0], ends[1], None);
            let change = put_reading(document, key, typed, "ME", "2026-03-01").expect("a reading");
            change.apply(document).expect("made for it");
        };
        put(&mut document, "1.5k", [&a, &b]);
        put(&mut document, "0,2", [&b, &a]);
        let values: Vec<_> = document.readings.values().map(|it| it.value).collect();
        assert_eq!(values, [Some(0.2)]);
        put(&mut document, "OL", [&a, &b]);
        assert!(
            document
                .readings
                .values()
                .all(|it| it.over_range && it.value.is_none())
        );
        put(&mut document, " ", [&a, &b]);
        assert!(document.readings.is_empty());
        let wrong = put_reading(
            &document,
            (Test::Continuity, &a, &b, None),
            "many",
            "ME",
            "",
        );
        assert!(wrong.expect_err("no reading").to_string().contains("0.2"));
    }
}
