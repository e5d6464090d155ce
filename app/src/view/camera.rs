//! Where the sheet is on the screen.

use loomwright_core::drawing::geometry::{Point, Rect, pt};

/// Pixels a millimetre at most and at least.
const SCALE_MAX: f64 = 24.0;
const SCALE_MIN: f64 = 0.3;
/// Pixels a millimetre at which names can be read on a screen.
pub const READABLE: f64 = 4.0;
/// Pixels a millimetre at which names can just be read: type of 2.4 mm is 9 px.
pub const READABLE_LEAST: f64 = 3.6;
/// Pixels kept of the sheet when it is pushed off the screen.
const KEEP_PX: f64 = 80.0;

/// A screen point is `sheet * scale + (x, y)`, in pixels from the drawing's top left corner.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Camera {
    /// Pixels a millimetre.
    pub scale: f64,
    /// Pixels to the right.
    pub x: f64,
    /// Pixels down.
    pub y: f64,
}

impl Default for Camera {
    fn default() -> Self {
        Self {
            scale: 3.0,
            x: 0.0,
            y: 0.0,
        }
    }
}

impl Camera {
    /// The point of the sheet under a point of the screen.
    pub fn to_sheet(self, x: f64, y: f64) -> Point {
        pt((x - self.x) / self.scale, (y - self.y) / self.scale)
    }

    /// The point of the screen over a point of the sheet.
    pub fn to_screen(self, at: Point) -> (f64, f64) {
        (at.x * self.scale + self.x, at.y * self.scale + self.y)
    }

    /// As the `transform` of the drawing.
    pub fn transform(self) -> String {
        format!(
            "translate({:.2} {:.2}) scale({:.4})",
            self.x, self.y, self.scale
        )
    }

    /// Moved by some pixels.
    #[must_use]
    pub fn panned(self, dx: f64, dy: f64) -> Self {
        Self {
            x: self.x + dx,
            y: self.y + dy,
            ..self
        }
    }

    /// Zoomed about a point of the screen, which stays where it is.
    #[must_use]
    pub fn zoomed(self, x: f64, y: f64, factor: f64) -> Self {
        let scale = (self.scale * factor).clamp(SCALE_MIN, SCALE_MAX);
        let factor = scale / self.scale;
        Self {
            scale,
            x: x - (x - self.x) * factor,
            y: y - (y - self.y) * factor,
        }
    }

    /// Shows a box whole, with some room around it, on a screen of this size.
    #[must_use]
    pub fn fitted(rect: Rect, width: f64, height: f64, scale_max: f64) -> Self {
        let room = 0.94;
        let scale = (width * room / rect.w.max(1.0))
            .min(height * room / rect.h.max(1.0))
            .clamp(SCALE_MIN, scale_max.min(SCALE_MAX));
        let centre = rect.centre();
        Self {
            scale,
            x: width / 2.0 - centre.x * scale,
            y: height / 2.0 - centre.y * scale,
        }
    }

    /// Brings a point of the sheet to the middle of the screen, at least this large.
    #[must_use]
    pub fn centred(self, at: Point, width: f64, height: f64, scale_min: f64) -> Self {
        let scale = self.scale.max(scale_min);
        Self {
            scale,
            x: width / 2.0 - at.x * scale,
            y: height / 2.0 - at.y * scale,
        }
    }

    /// Kept so that some of the paper stays on the screen.
    #[must_use]
    pub fn kept(self, paper: (f64, f64), width: f64, height: f64) -> Self {
        let (w, h) = (paper.0 * self.scale, paper.1 * self.scale);
        Self {
            x: self
                .x
                .clamp(KEEP_PX - w, (width - KEEP_PX).max(KEEP_PX - w)),
            y: self
                .y
                .clamp(KEEP_PX - h, (height - KEEP_PX).max(KEEP_PX - h)),
            ..self
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn screen_and_sheet_are_there_and_back() {
        let camera = Camera {
            scale: 2.5,
            x: -40.0,
            y: 12.0,
        };
        let at = camera.to_sheet(100.0, 200.0);
        assert_eq!(camera.to_screen(at), (100.0, 200.0));
    }

    #[test]
    fn zoom_keeps_the_point_under_the_finger() {
        let camera = Camera {
            scale: 3.0,
            x: 10.0,
            y: 20.0,
        };
        let before = camera.to_sheet(300.0, 150.0);
        let after = camera.zoomed(300.0, 150.0, 1.7).to_sheet(300.0, 150.0);
        assert!(before.distance(after) < 1e-9);
        // Also at the end of the scale.
        let after = camera.zoomed(300.0, 150.0, 1e6);
        assert_eq!(after.scale, SCALE_MAX);
        assert!(before.distance(after.to_sheet(300.0, 150.0)) < 1e-9);
    }

    #[test]
    fn paper_is_never_lost() {
        let far = Camera {
            scale: 3.0,
            x: 1e6,
            y: -1e6,
        }
        .kept((420.0, 297.0), 800.0, 600.0);
        assert_eq!((far.x, far.y), (720.0, 80.0 - 891.0));
    }
}
