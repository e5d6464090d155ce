//! How large an item is drawn.

use super::outlines;
use crate::document::{Document, SheetItem};

/// Width and height of an item as drawn, mm: multiples of 2.5 mm. Zero if its record is not in the document.
pub fn item_size(document: &Document, item: &SheetItem) -> (f64, f64) {
    outlines::outline(document, item, None).map_or((0.0, 0.0), |out| (out.w_mm, out.h_mm))
}
