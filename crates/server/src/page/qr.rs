//! A link as a picture that a phone's camera reads, in a page and in a terminal.

use qrcode::render::{svg, unicode};
use qrcode::{EcLevel, QrCode};

fn code(link: &str) -> Option<QrCode> {
    QrCode::with_error_correction_level(link, EcLevel::M).ok()
}

/// The link as a drawing to stand in a page; nothing where it is too long to be drawn.
pub fn drawing(link: &str) -> String {
    let Some(code) = code(link) else { return String::new() };
    let svg = code
        .render::<svg::Color<'_>>()
        .min_dimensions(200, 200)
        .dark_color(svg::Color("#000"))
        .light_color(svg::Color("#fff"))
        .build();
    let svg = svg.find("<svg").map_or("", |start| &svg[start..]);
    svg.replacen(
        "<svg",
        "<svg class=\"qr\" role=\"img\" aria-label=\"The address as a code for a camera\"",
        1,
    )
}

/// The link for a terminal that draws in color: black on white, whatever colors the terminal has.
pub fn terminal(link: &str) -> Option<String> {
    let text = code(link)?.render::<unicode::Dense1x2>().build();
    Some(text.lines().map(|line| format!("\x1b[30;107m{line}\x1b[0m\n")).collect())
}

/// The link for a terminal without color, which most people keep dark.
pub fn terminal_plain(link: &str) -> Option<String> {
    let (dark, light) = (unicode::Dense1x2::Light, unicode::Dense1x2::Dark);
    let text = code(link)?.render::<unicode::Dense1x2>().dark_color(dark).light_color(light).build();
    Some(text + "\n")
}
