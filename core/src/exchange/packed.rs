//! Compressed texts: DEFLATE (RFC 1951), then letters that fit into an address or a JSON text (RFC
//! 4648, section 5).

use base64::{Engine, engine::general_purpose::URL_SAFE_NO_PAD};
use miniz_oxide::{deflate::compress_to_vec, inflate::decompress_to_vec_with_limit};

use crate::document::limits::MAX_BYTES;

/// Compression level, of 10: higher levels take longer without a visible gain.
const LEVEL: u8 = 8;

/// A packed text cannot be unpacked.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum UnpackError {
    /// It was cut short or changed in transit.
    #[error(
        "the text is damaged: a part is missing or was changed; send it again, as a file if it is \
         long"
    )]
    Damaged,
    /// Its content is larger than a project may be.
    #[error("the text holds more than {MAX_BYTES} bytes, the limit of a project")]
    TooLarge,
}

/// Packs a text.
pub fn pack(text: &str) -> String {
    URL_SAFE_NO_PAD.encode(compress_to_vec(text.as_bytes(), LEVEL))
}

/// Unpacks a text.
///
/// # Errors
/// [`UnpackError`]; memory stays bounded for any input.
pub fn unpack(packed: &str) -> Result<String, UnpackError> {
    let bytes = URL_SAFE_NO_PAD
        .decode(packed.trim())
        .map_err(|_| UnpackError::Damaged)?;
    let text =
        decompress_to_vec_with_limit(&bytes, MAX_BYTES).map_err(|error| match error.status {
            miniz_oxide::inflate::TINFLStatus::HasMoreOutput => UnpackError::TooLarge,
            _ => UnpackError::Damaged,
        })?;
    String::from_utf8(text).map_err(|_| UnpackError::Damaged)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_packed_comes_back() {
        for text in ["", "a", "wires µΩ\n", &"wire list ".repeat(10_000)] {
            let packed = pack(text);
            assert!(
                packed
                    .bytes()
                    .all(|it| it.is_ascii_alphanumeric() || b"-_".contains(&it))
            );
            assert_eq!(unpack(&packed).as_deref(), Ok(text));
        }
        assert!(pack(&"wire list ".repeat(10_000)).len() < 1_000);
    }

    #[test]
    fn what_is_damaged_or_swells_is_refused() {
        let packed = pack("a project of wires, devices and sheets");
        for cut in 0..packed.len() {
            assert_eq!(
                unpack(&packed[..cut]).err(),
                Some(UnpackError::Damaged),
                "{cut}"
            );
        }
        assert_eq!(unpack("not/ours"), Err(UnpackError::Damaged));
        let swelling = pack(&"\0".repeat(MAX_BYTES + 1));
        assert!(swelling.len() < 50_000);
        assert_eq!(unpack(&swelling), Err(UnpackError::TooLarge));
    }

    /// RFC 4648, section 10: "foobar" is Zm9vYmFy; section 5: no `+`, no `/`.
    #[test]
    fn letters_are_those_of_the_standard() {
        assert_eq!(URL_SAFE_NO_PAD.encode("foobar"), "Zm9vYmFy");
        assert_eq!(URL_SAFE_NO_PAD.encode([0xfb, 0xff]), "-_8");
    }
}
