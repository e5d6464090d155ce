//! Numbers as people type them into fields.

use loomwright_core::units::number;

/// What a text holds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Typed {
    /// Nothing.
    Empty,
    /// A number.
    Number(f64),
    /// Something else.
    Wrong,
}

/// Reads a number as a person types it, with a point or a comma.
pub fn typed(text: &str) -> Typed {
    if text.trim().is_empty() {
        return Typed::Empty;
    }
    number(text).map_or(Typed::Wrong, Typed::Number)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_read_as_people_type_them() {
        assert_eq!(typed(" 2,5 "), Typed::Number(2.5));
        assert_eq!(typed("2.50"), Typed::Number(2.5));
        assert_eq!(typed(""), Typed::Empty);
        assert_eq!(typed("3 m"), Typed::Wrong);
    }
}
