//! To come with the drawing surface.
