//! Drives the tools without a browser.
