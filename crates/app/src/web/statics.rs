//! The few files that pages refer to.

use axum::extract::Path;
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};

/// The mark of the workshop: a wire to the wall.
const ICON: &str = r##"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 16 16"><rect width="16" height="16" rx="3" fill="#1d4f6b"/><path d="M3 12h3V7h4V4h3" fill="none" stroke="#fff" stroke-width="1.6"/></svg>"##;

/// A file by its name.
pub async fn file(Path(name): Path<String>) -> Response {
    let (kind, text) = match name.as_str() {
        "style.css" => ("text/css; charset=utf-8", include_str!("static/style.css")),
        "drawing.css" => ("text/css; charset=utf-8", voltwright_drawing::STYLE),
        "fields.js" => ("text/javascript; charset=utf-8", include_str!("static/fields.js")),
        "text.js" => ("text/javascript; charset=utf-8", include_str!("static/text.js")),
        "bench.js" => ("text/javascript; charset=utf-8", include_str!("static/bench.js")),
        "fold.js" => ("text/javascript; charset=utf-8", include_str!("static/fold.js")),
        "job.js" => ("text/javascript; charset=utf-8", include_str!("static/job.js")),
        "wires.js" => ("text/javascript; charset=utf-8", include_str!("static/wires.js")),
        "live.js" => ("text/javascript; charset=utf-8", include_str!("static/live.js")),
        "sheet-a4.css" => ("text/css; charset=utf-8", include_str!("static/sheet-a4.css")),
        "sheet-letter.css" => ("text/css; charset=utf-8", include_str!("static/sheet-letter.css")),
        "icon.svg" => ("image/svg+xml", ICON),
        _ => return StatusCode::NOT_FOUND.into_response(),
    };
    ([(header::CONTENT_TYPE, kind), (header::CACHE_CONTROL, "no-cache")], text).into_response()
}
