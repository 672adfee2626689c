//! A link as a picture to scan.

use fast_qr::QRBuilder;
use std::fmt::Write;

/// Modules of white around it, as scanners need it (ISO/IEC 18004: 4).
const QUIET: usize = 4;

/// An SVG of a link; empty if the link is longer than such a picture holds.
pub fn svg(link: &str) -> String {
    let Ok(code) = QRBuilder::new(link).build() else { return String::new() };
    let side = code.size + 2 * QUIET;
    let mut path = String::new();
    for y in 0..code.size {
        for x in 0..code.size {
            if code[y][x].value() {
                let _ = write!(path, "M{} {}h1v1h-1z", x + QUIET, y + QUIET);
            }
        }
    }
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {side} {side}\" shape-rendering=\"crispEdges\" aria-hidden=\"true\">\
         <rect width=\"{side}\" height=\"{side}\" fill=\"#fff\"/><path d=\"{path}\" fill=\"#000\"/></svg>"
    )
}
