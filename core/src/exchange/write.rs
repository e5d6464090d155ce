//! Records as the text of a file, in serde_json's layout with less compiled code: each step is
//! compiled once, and the standard library formats numbers instead of serde_json's own tables.

use std::io::{Result, Write};

use serde::Serialize;
use serde_json::ser::{Formatter, PrettyFormatter, Serializer};

/// Any plain data as JSON: two spaces of indent, one field per line, no line feed at the end.
pub fn json(data: &impl Serialize) -> String {
    let mut bytes = Vec::new();
    let layout = Layout(PrettyFormatter::new());
    data.serialize(&mut Serializer::with_formatter(&mut bytes, layout))
        .expect("plain data has text for keys, and a list in memory takes what it is given");
    String::from_utf8(bytes).expect("JSON of texts is text")
}

struct Layout<'i>(PrettyFormatter<'i>);

/// Formatting steps passed on to serde_json.
macro_rules! same {
    ($($step:ident($($arg:ident: $type:ty)?);)*) => {$(
        #[inline(never)]
        fn $step<W: ?Sized + Write>(&mut self, writer: &mut W $(, $arg: $type)?) -> Result<()> {
            self.0.$step(writer $(, $arg)?)
        }
    )*};
}

impl Formatter for Layout<'_> {
    same! {
        begin_array();
        end_array();
        begin_array_value(first: bool);
        end_array_value();
        begin_object();
        end_object();
        begin_object_key(first: bool);
        begin_object_value();
        end_object_value();
        write_null();
        write_bool(value: bool);
        write_i64(value: i64);
        write_u64(value: u64);
    }

    #[inline(never)]
    fn write_f64<W: ?Sized + Write>(&mut self, writer: &mut W, value: f64) -> Result<()> {
        // The shortest digits that read back the same; a power of ten from 1e+16 and under 1e-5.
        if (1e-5..1e-4).contains(&value.abs()) {
            return write!(writer, "{value}");
        }
        let text = format!("{value:?}");
        match text.split_once('e') {
            Some((digits, power)) if !power.starts_with('-') => write!(writer, "{digits}e+{power}"),
            _ => writer.write_all(text.as_bytes()),
        }
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;
    use serde_json::json;

    use super::*;

    #[test]
    fn the_layout_is_that_of_serde_json() {
        let data = json!({"a": [1, -2, 2.5, null, true, "ü\n\u{1}\"", [], {}], "b": {"c": [{}]}});
        assert_eq!(json(&data), serde_json::to_string_pretty(&data).unwrap());
    }

    proptest! {
        #[test]
        fn numbers_are_written_as_serde_json_writes_them(
            bits: u64, plain in -1e7..1e7, small in 1e-7..1e-2,
        ) {
            for value in [f64::from_bits(bits), plain, small, -small, plain.round(), 0.0, -0.0] {
                let (ours, theirs) = (json(&value), serde_json::to_string(&value).unwrap());
                // Halfway between two shortest forms, from 5e14 on, either may be taken.
                if value.abs() < 5e14 {
                    prop_assert_eq!(&ours, &theirs);
                }
                prop_assert_eq!(ours.len(), theirs.len());
                if value.is_finite() {
                    prop_assert_eq!(ours.parse::<f64>().unwrap().to_bits(), value.to_bits());
                }
            }
        }
    }
}
