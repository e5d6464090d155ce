//! Two places for a text, written alternately: a write that is cut short spoils one, and the other still
//! holds the text before it.

use super::store::{Store, StoreError};

/// A text with the number of its saving, which never goes back; clocks do.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SavedText {
    /// Which saving it was.
    pub turn: u64,
    /// What was saved.
    pub text: String,
}

impl SavedText {
    /// As it is written: turn and checksum in a line, then the text.
    pub fn framed(turn: u64, text: &str) -> String {
        format!("{turn} {:016x}\n{text}", checksum(turn, text))
    }

    /// Reads what was written; none if it is damaged or cut short.
    pub fn read(framed: &str) -> Option<Self> {
        let (head, text) = framed.split_once('\n')?;
        let (turn, sum) = head.split_once(' ')?;
        let turn = turn.parse().ok()?;
        let is_whole = u64::from_str_radix(sum, 16) == Ok(checksum(turn, text));
        is_whole.then(|| Self {
            turn,
            text: text.to_owned(),
        })
    }
}

/// FNV-1a, 64 bit (Fowler, Noll and Vo; RFC 9923): detects a damaged text.
fn checksum(turn: u64, text: &str) -> u64 {
    let mut sum: u64 = 0xcbf2_9ce4_8422_2325;
    for byte in turn.to_le_bytes().iter().chain(text.as_bytes()) {
        sum = (sum ^ u64::from(*byte)).wrapping_mul(0x0100_0000_01b3);
    }
    sum
}

/// The names of both places.
pub fn names(name: &str) -> [String; 2] {
    ["a", "b"].map(|slot| format!("{name}.{slot}"))
}

/// The newest undamaged text.
pub fn newest(store: &impl Store, name: &str) -> Option<SavedText> {
    let kept = names(name).map(|name| store.get(&name).and_then(|it| SavedText::read(&it)));
    kept.into_iter().flatten().max_by_key(|it| it.turn)
}

/// Writes a text over the older of both.
///
/// # Errors
/// Errors of the store; the newest text is then still there.
pub fn write(store: &impl Store, name: &str, turn: u64, framed: &str) -> Result<(), StoreError> {
    let [a, b] = names(name);
    store.set(if turn.is_multiple_of(2) { &a } else { &b }, framed)
}

/// Forgets both.
pub fn clear(store: &impl Store, name: &str) {
    for name in names(name) {
        store.remove(&name);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::storage::store::testing::Memory;

    fn put(store: &Memory, turn: u64, text: &str) -> Result<(), StoreError> {
        write(store, "p", turn, &SavedText::framed(turn, text))
    }

    #[test]
    fn the_newest_whole_text_wins() {
        let store = Memory::default();
        assert_eq!(newest(&store, "p"), None);
        for turn in 1..9 {
            put(&store, turn, &format!("text {turn}")).expect("memory keeps everything");
            let kept = newest(&store, "p").expect("whole");
            assert_eq!((kept.turn, kept.text), (turn, format!("text {turn}")));
        }
        clear(&store, "p");
        assert_eq!(newest(&store, "p"), None);
    }

    #[test]
    fn a_write_cut_short_anywhere_leaves_the_text_before_it() {
        let text = "wires\nµΩ and more";
        for cut in 0..SavedText::framed(4, text).len() {
            let store = Memory::default();
            put(&store, 3, "before").expect("memory keeps everything");
            let framed = SavedText::framed(4, text);
            let Some(part) = framed.get(..cut) else {
                continue;
            };
            write(&store, "p", 4, part).expect("memory keeps everything");
            let kept = newest(&store, "p").expect("the one before");
            assert_eq!((kept.turn, &*kept.text), (3, "before"), "cut at {cut}");
        }
    }

    #[test]
    fn any_changed_byte_is_damage() {
        let framed = SavedText::framed(12, "a wire list");
        for at in 0..framed.len() {
            let mut bytes = framed.clone().into_bytes();
            bytes[at] ^= 1;
            let damaged = String::from_utf8(bytes).expect("still letters");
            assert_ne!(
                SavedText::read(&damaged).map(|it| it.text),
                Some("a wire list".into()),
                "{at}"
            );
        }
    }

    /// RFC 9923 gives the offset and prime; its test vector for an empty text is the offset itself.
    #[test]
    fn the_checksum_is_the_published_one() {
        let of = |bytes: &[u8]| {
            bytes.iter().fold(0xcbf2_9ce4_8422_2325_u64, |sum, byte| {
                (sum ^ u64::from(*byte)).wrapping_mul(0x0100_0000_01b3)
            })
        };
        // From memory: FNV-1a of "a" and of "foobar".
        assert_eq!(of(b"a"), 0xaf63_dc4c_8601_ec8c);
        assert_eq!(of(b"foobar"), 0x8594_4171_f739_67e8);
        let mut bytes = 7_u64.to_le_bytes().to_vec();
        bytes.extend(b"foobar");
        assert_eq!(checksum(7, "foobar"), of(&bytes));
    }
}
