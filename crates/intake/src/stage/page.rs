//! What stands above a table and holds for all its rows: labels with values, and free text.

use super::civil;
use super::known::Known;
use super::legend::Legend;
use super::table::Span;
use super::terms::{only_restraint, plain, restraint, says, service};
use crate::map::columns::score;
use crate::map::vocabulary::{Vocabulary, vocabulary};
use crate::map::{DateOrder, Field, Header};
use crate::reader::{CellKind, Row};
use airshelf_catalog::{BaselineKind, Quantity, Restraint};
use airshelf_units::{Decimal, Dimension, Read, Unit, read_any};
use std::sync::LazyLock;

/// One value of a page.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct PageValue {
    pub field: Field,
    pub row: Option<u32>,
    pub raw: String,
    pub quantity: Option<Quantity>,
    /// A date, a name.
    pub text: Option<String>,
    /// The unit was taken from what is usual.
    pub assumed: bool,
}

/// What a page says.
#[derive(Clone, Debug, Default)]
pub(crate) struct Page {
    pub values: Vec<PageValue>,
    pub restraint: Option<(Restraint, u32, String)>,
    pub readings_each: Option<(i64, u32, String)>,
    pub service_note: Option<(String, u32)>,
    pub baseline_kind: Option<BaselineKind>,
    /// The date's day and month could be exchanged.
    pub ambiguous_date: bool,
    /// The unit of flow that its text names.
    pub flow_unit: Option<Unit>,
    /// Whether its text speaks of losses, of flows, of percent.
    pub losses: bool,
    pub flows: bool,
    pub percent: bool,
    /// What it says that its short words stand for.
    pub legend: Legend,
    /// All text in plain words.
    pub words: String,
    /// Lines with one cell of text, for labels of a matrix.
    pub lines: Vec<(u32, String)>,
}

/// How the page's numbers and dates are written.
#[derive(Clone, Copy)]
pub(crate) struct Hand {
    pub decimal: Option<Decimal>,
    pub order: Option<DateOrder>,
    pub guess: DateOrder,
    /// Unit of a flow that names none.
    pub flow: Unit,
}

impl Page {
    pub fn get(&self, field: Field) -> Option<&PageValue> {
        self.values.iter().find(|v| v.field == field)
    }

    pub fn quantity(&self, field: Field) -> Option<&Quantity> {
        self.get(field)?.quantity.as_ref()
    }

    pub fn text(&self, field: Field) -> Option<&str> {
        self.get(field)?.text.as_deref()
    }

    pub fn put(&mut self, value: PageValue) {
        if self.get(value.field).is_none() {
            self.values.push(value);
        }
    }

    /// Whether it says nothing but titles.
    pub fn is_silent(&self) -> bool {
        self.values.is_empty() && self.restraint.is_none() && self.service_note.is_none()
    }
}

/// A number in a text, with its unit where one follows.
pub(crate) struct Figure<'t> {
    pub at: usize,
    pub raw: &'t str,
    pub read: Option<Read>,
    pub value: Option<f64>,
}

fn starts_figure(text: &str, at: usize) -> bool {
    let before = text[..at].chars().next_back();
    let free = |c: Option<char>| c.is_none_or(|c| c.is_whitespace() || "(,;:=~@<>≈\"“[".contains(c));
    match before {
        Some('-' | '−' | '–' | '+') => false,
        other => free(other),
    }
}

/// Finds the numbers of a text and the units behind them; the longest unit wins (`20 in. water`).
pub(crate) fn figures(text: &str, decimal: Option<Decimal>) -> Vec<Figure<'_>> {
    let mut found = Vec::new();
    let mut from = 0;
    while let Some(step) = text[from..].find(|c: char| c.is_ascii_digit() || matches!(c, '-' | '−' | '+')) {
        let at = from + step;
        let first = text[at..].chars().next().map_or(1, char::len_utf8);
        let signed = !text.as_bytes()[at].is_ascii_digit();
        let digit_follows = text[at + first..].starts_with(|c: char| c.is_ascii_digit());
        if (signed && !digit_follows) || !starts_figure(text, at) {
            // Skip the rest of the word: `C2-1` and `2024-01-27` hold no quantity.
            let rest = &text[at..];
            let word = if signed {
                first
            } else {
                rest.find(|c: char| !(c.is_alphanumeric() || c == '-')).unwrap_or(rest.len())
            };
            from = at + word.max(first);
            continue;
        }
        let rest = &text[at..];
        let stop = stop_of(rest);
        let ends: Vec<usize> = rest[..stop]
            .char_indices()
            .filter(|&(i, c)| i > 0 && (c.is_whitespace() || "/=".contains(c)))
            .map(|(i, _)| i)
            .chain([stop])
            .take(7)
            .collect();
        let whole = ends.iter().rev().find_map(|&end| {
            let raw = rest[..end].trim().trim_end_matches(['.', ',', ':', '"'].as_slice());
            let raw = if rest[..end].trim().ends_with('"') { rest[..end].trim() } else { raw };
            // `1 002,5 hPa`: a space between thousands.
            let spaced = || {
                let joined = super::cells::grouped(raw).filter(|j| j.contains(' '))?;
                let pressure = |read: &Read| read.unit.dimension() == Dimension::Pressure;
                read_any(&joined, decimal).ok().filter(|r| pressure(r) || joined.contains(['.', ',']))
            };
            read_any(raw, decimal).ok().or_else(spaced).map(|read| (end, raw, read))
        });
        match whole {
            Some((end, raw, read)) => {
                found.push(Figure { at, raw, value: Some(read.value), read: Some(read) });
                from = at + end.max(first);
            }
            None => {
                let end = rest
                    .find(|c: char| {
                        !(c.is_ascii_digit() || matches!(c, '.' | ',') || c == '-' && rest.starts_with('-'))
                    })
                    .unwrap_or(rest.len());
                let raw = rest[..end].trim_end_matches(['.', ',']);
                let next = rest[end..].chars().next();
                let plain_number = next.is_none_or(|c| !c.is_alphanumeric() && !"-/:x×".contains(c));
                let value = plain_number
                    .then(|| airshelf_units::read(raw, Dimension::Ratio, Some(Unit::RATIO), decimal).ok())
                    .flatten()
                    .map(|r| r.value);
                if value.is_some() {
                    found.push(Figure { at, raw, read: None, value });
                }
                let word = rest.find(|c: char| c.is_whitespace() || ",;".contains(c)).unwrap_or(rest.len());
                from = at + word.max(end).max(first);
            }
        }
    }
    found
}

/// Where the clause of a number ends: at a semicolon, a bracket, or a comma that is no decimal mark.
fn stop_of(text: &str) -> usize {
    let bytes = text.as_bytes();
    text.char_indices()
        .find(|&(at, c)| match c {
            ';' | '(' | ')' | '|' | '\n' => true,
            ',' => !bytes.get(at + 1).is_some_and(u8::is_ascii_digit),
            '-' | '–' | '—' | '/' => parted(text, at, c),
            '.' => sentence_ends(text, at),
            _ => false,
        })
        .map_or(text.len(), |(at, _)| at)
}

/// A dash between spaces parts what stands on its sides.
fn parted(text: &str, at: usize, dash: char) -> bool {
    text[..at].ends_with(' ') && text[at + dash.len_utf8()..].starts_with(' ')
}

/// A point behind a word or a number, before a new sentence; `in. of water` and `approx. 20` go on.
fn sentence_ends(text: &str, at: usize) -> bool {
    let next = text[at + 1..].strip_prefix(' ').and_then(|rest| rest.chars().next());
    let word = text[..at].rsplit(|c: char| !c.is_alphanumeric()).next().unwrap_or("");
    let unit = ["cfm", "mm", "cm", "kpa", "hpa", "rh", "lps", "nut", "new", "oil", "hum", "lid", "hg", "h2o"]
        .iter()
        .any(|w| word.eq_ignore_ascii_case(w));
    let whole = word.ends_with(|c: char| c.is_ascii_digit()) || word.len() > 3 || unit;
    let short = ["approx", "about", "circa", "temp", "baro", "barom", "press"]
        .iter()
        .any(|w| word.eq_ignore_ascii_case(w));
    match next {
        Some(c) if c.is_uppercase() => whole,
        Some(c) if c.is_ascii_digit() => whole && !short && !word.ends_with(|c: char| c.is_ascii_digit()),
        _ => false,
    }
}

/// The clause around a place of a text.
fn clause(text: &str, at: usize) -> (usize, usize) {
    let start = text[..at]
        .char_indices()
        .rev()
        .find(|&(i, c)| match c {
            ';' | '|' => true,
            ',' => !text.as_bytes().get(i + 1).is_some_and(u8::is_ascii_digit),
            '-' | '–' | '—' | '/' => parted(text, i, c),
            '.' => sentence_ends(text, i),
            _ => false,
        })
        .map_or(0, |(i, c)| i + c.len_utf8());
    (start, at + stop_of(&text[at..]))
}

/// Labels of what a page holds, as a vocabulary has them.
static LABELS: LazyLock<Vocabulary> = LazyLock::new(|| {
    vocabulary(&[
        (
            Field::Date,
            "date; day; tested; tested on; evening of; when; date of test; test date; night of; datum; \
             tag; fecha; jour; dated; run on",
        ),
        (
            Field::Session,
            "session; evening; page; session name; night; night no; evening no; sheet; leaf; session no; \
             sitzung; séance; sesión; abend",
        ),
        (
            Field::Who,
            "operator; by; who; measured by; tester; run by; person; at the bench; operators; crew; done \
             by; prüfer; opérateur; operador; at the stick; written by; present; we were; hands",
        ),
        (Field::Bench, "bench; flow bench; rig; test bench; prüfstand; banc; banco; bench used"),
        (
            Field::Range,
            "range; bench range; full scale; range in use; meter range; scale; scale used; range used; \
             range set; bench scale; meter scale; range of bench; messbereich; bereich; plage; rango; \
             escala; full range; range limit",
        ),
        (
            Field::SetPressure,
            "test pressure; set pressure; pressure; depression; test depression; water; tested at; set; \
             vacuum; pressure drop; test vacuum; all at; drawn at; pull; underpressure; suction; drawn; \
             set to; set at; depression held; vacuum held; held at; at depression; water column; test \
             water; prüfdruck; unterdruck; druck; solldruck; dépression; pression; depresión; presión; \
             vacuum set; draw; test drop; set depression; depression set; pressure held; pressure set; \
             pull of; pulled at; test suction",
        ),
        (
            Field::AirTemperature,
            "air; temperature; air temperature; room; room temperature; inlet air; air temp; room temp; \
             temp; shop temperature; shop temp; shop air; temperature of air; lufttemperatur; luft; \
             temperatur; température; température air; temperatura; aire; shop; inlet temperature; \
             thermometer; temp of air",
        ),
        (
            Field::Barometer,
            "barometer; baro; barometric pressure; station pressure; atmospheric pressure; air pressure; \
             glass; pressure of the air; bp; barom; station baro; station barometer; air pressure \
             station; luftdruck; baromètre; pression atmosphérique; pression atm; barómetro; presión \
             atmosférica; weather glass; atm pressure; atmospheric; local baro; barometer station; \
             pressure of the day",
        ),
        (
            Field::Humidity,
            "humidity; rh; relative humidity; rel humidity; rel hum; hum; moisture; damp; luftfeuchte; \
             luftfeuchtigkeit; feuchte; humidité; humedad; humidity of air; hygrometer",
        ),
        (
            Field::StatedBaseline,
            "baseline; bare; bare baseline; baseline bare; zero run; zero; reference run; reference flow; \
             base line; carb alone; carburetor alone; bare carb; bare run; baseline with base; reference; \
             bare flow; baseline flow; bare carburetor; reference naked; reference bare; naked; naked \
             reference; referenz; référence; referencia; baseline flow bare; base flow; bare reads; bare \
             reading; average of zeros; bare carb flows; carb bare; open carb; baseline reading; baseline \
             average; baseline mean; mean of baselines; without anything; nothing on",
        ),
        (
            Field::Item,
            "item; carburetor; carburettor; carb; on the bench; tested item; throttle body; unit; for; \
             testing; under test; vergaser; carburateur; carburador; prüfling; carb tested; on test; carb \
             under test",
        ),
        (
            Field::Restraint,
            "restraint; held; fastening; how held; fixing; held by; lid held; lid held by; held with; \
             hold down; clamped; clamped by; fastened; fixed; befestigung; fixation; sujeción; tied by; \
             secured by; lids; all lids",
        ),
        (
            Field::Service,
            "service; state; elements; filters; condition of elements; filter state; element state; \
             media; filter condition; element condition; condition; cond; state of elements; state of \
             filters; zustand; état; estado; all elements; all filters; paper; papers",
        ),
        // What follows may be several things at once.
        (
            Field::Note,
            "conditions; weather; ambient; ambient conditions; atmosphere; room conditions; note; notes; \
             remarks; remark; comment; comments; air conditions; the day; room and weather; wetter; \
             météo; tiempo; bedingungen; bemerkung; shop conditions",
        ),
    ])
});

fn label_of(text: &str) -> Option<(Field, Header)> {
    let text = text.trim();
    if text.is_empty() || text.chars().count() > 48 {
        return None;
    }
    let inner = text.trim_end_matches([':', '=', '.']).trim();
    let header = Header::of(0, inner);
    // What a label adds in brackets says more of it: `Reference (naked)`.
    let main =
        inner.split_once('(').map(|(main, _)| Header::of(0, main.trim())).filter(|h| !h.words.is_empty());
    if header.words.is_empty() || header.words.iter().any(|w| w.bytes().any(|b| b.is_ascii_digit())) {
        return None;
    }
    let marked = text.ends_with([':', '=']);
    let least = if marked { 0.7 } else { 0.9 };
    // The unit is no objection here: a label of a date has none.
    let best = LABELS
        .iter()
        .map(|(field, spellings)| {
            let alone = main.as_ref().map_or(0.0, |main| score(main, *field, spellings));
            (alone.max(score(&header, *field, spellings)), *field)
        })
        .max_by(|a, b| a.0.total_cmp(&b.0))?;
    if best.0 >= least {
        Some((best.1, header))
    } else if marked {
        Some((Field::Note, header))
    } else {
        None
    }
}

/// Whether a text labels a value of a page.
pub(crate) fn is_label(text: &str) -> bool {
    label_of(text).is_some_and(|l| l.0 != Field::Note || text.trim().ends_with(':'))
}

/// Reads the lines above a table.
pub(crate) fn read_page(rows: &[&Row], hand: Hand, span: Span) -> Page {
    let mut page = Page::default();
    for row in rows {
        read_line(row, hand, span, &mut page);
    }
    page
}

fn read_line(row: &Row, hand: Hand, span: Span, page: &mut Page) {
    let number = row.number();
    // A line that says nothing above this table, of several beside each other, is for all of them.
    let here = row.cells().any(|c| span.has(c.column) && !c.raw.trim().is_empty());
    let cells: Vec<(String, &CellKind)> = row
        .cells()
        .filter(|c| (span.has(c.column) || !here) && !c.raw.trim().is_empty())
        .map(|c| (c.raw.trim().trim_start_matches('#').trim().to_owned(), c.kind))
        .filter(|c| !c.0.is_empty())
        .collect();
    let whole = cells.iter().map(|c| c.0.as_str()).collect::<Vec<_>>().join(" | ");
    note_words(&whole, number, page);
    if let [(text, _)] = cells.as_slice() {
        page.lines.push((number, text.clone()));
    }
    let mut label: Option<(Field, Header)> = None;
    for (at, (text, kind)) in cells.iter().enumerate() {
        // A label and its value in one cell: `Date: 6/15/2024`.
        if let Some((head, tail)) = text.split_once([':', '='])
            && !tail.trim().is_empty()
            && !tail.starts_with(|c: char| c.is_ascii_digit())
            && let Some(found) = label_of(&format!("{head}:"))
        {
            read_value(tail.trim(), kind, number, Some(&found), hand, page);
            label = None;
            continue;
        }
        if at + 1 < cells.len()
            && let Some(found) = label_of(text)
        {
            label = Some(found);
            continue;
        }
        read_value(text, kind, number, label.as_ref(), hand, page);
    }
}

/// Takes in what the words of a line say at large.
fn note_words(text: &str, row: u32, page: &mut Page) {
    let words = plain(text);
    page.legend.hear(text);
    if !page.words.is_empty() {
        page.words.push(' ');
    }
    page.words.push_str(&words);
    page.losses |=
        ["loss", "losses", "lost", "down from", "cost", "drop in flow"].iter().any(|w| says(&words, w));
    page.flows |= ["flow", "flows", "flowed"].iter().any(|w| says(&words, w));
    page.percent |= says(&words, "percent")
        || text.contains("loss %")
        || text.contains("% loss")
        || text.contains("in %")
        || text.contains("losses %");
    for token in text.split([' ', ',', ';', '|', '(', ')']).filter(|t| t.len() > 1) {
        if page.flow_unit.is_none()
            && let Ok(unit) = Unit::named(token.trim_end_matches(['.', ':']), Some(Dimension::Flow))
        {
            page.flow_unit = Some(unit);
        }
    }
    let of_baselines = ["baselines", "baseline runs", "zero runs", "reference runs", "references"];
    if page.baseline_kind.is_none()
        && of_baselines.iter().any(|w| says(&words, w))
        && let kind @ (BaselineKind::Bare | BaselineKind::WithBase) = baseline_kind(&words)
    {
        page.baseline_kind = Some(kind);
    }
    if page.readings_each.is_none() {
        page.readings_each = readings_each(&words).map(|n| (n, row, text.to_owned()));
    }
    for part in sentences(text) {
        for piece in part.split(", ") {
            let piece_words = plain(piece);
            let all = ["everything", "all", "every", "each", "throughout", "always", "lids", "both"];
            let of_all = all.iter().any(|w| says(&piece_words, w)) && piece_words.split(' ').count() <= 6;
            if page.restraint.is_none()
                && (of_all || only_restraint(piece))
                && let Some(held) = restraint(piece)
            {
                page.restraint = Some((held, row, piece.trim().to_owned()));
            }
        }
        if page.service_note.is_none() {
            let pieces = part.split(", ").map(|p| p.trim().trim_end_matches('.'));
            let stated: Vec<&str> = pieces.filter(|p| states_service(p)).collect();
            if !stated.is_empty() {
                page.service_note = Some((stated.join(", "), row));
            }
        }
    }
    if page.get(Field::Session).is_none()
        && let Some(name) = page_number(text)
    {
        page.put(PageValue {
            field: Field::Session,
            row: Some(row),
            raw: name.clone(),
            quantity: None,
            text: Some(name),
            assumed: false,
        });
    }
}

/// The sentences of a line.
fn sentences(text: &str) -> Vec<&str> {
    let mut out = Vec::new();
    let mut from = 0;
    for (at, c) in text.char_indices() {
        let ends = match c {
            ';' | '|' | '·' | '•' | '∙' | '/' if c != '/' || parted(text, at, c) => true,
            '-' | '–' | '—' => parted(text, at, c),
            // What a page of another encoding had for such a mark.
            '\u{fffd}' => parted(text, at, c),
            '.' => sentence_ends(text, at),
            _ => false,
        };
        if ends {
            out.push(text[from..at].trim());
            from = at + c.len_utf8();
        }
    }
    out.push(text[from..].trim());
    out
}

/// `paper new`, `all elements as new`: a state together with what it is the state of; not `new or oiled, as said`.
fn states_service(piece: &str) -> bool {
    let words = plain(piece);
    let state = [
        "new",
        "oiled",
        "dirty",
        "washed",
        "as new",
        "unused",
        "cleaned",
        "clean",
        "with oil",
        "fresh oil",
        "re oiled",
        "freshly oiled",
        "brand new",
        "out of the box",
        "used",
    ]
    .iter()
    .any(|w| says(&words, w));
    let of = [
        "paper",
        "papers",
        "foam",
        "foams",
        "filter",
        "filters",
        "element",
        "elements",
        "gauze",
        "cotton",
        "all",
        "everything",
        "media",
        "cleaner",
        "cleaners",
        "cartridges",
    ];
    // `Old`, `used` may be part of a name; what else is a state is one.
    let told = service(piece).is_some();
    told && state
        && words.split(' ').count() <= 6
        && of.iter().any(|w| says(&words, w))
        && !left_to_the_rows(&words)
}

/// Whether a statement only says where it is said: `oiled or new, as noted`.
fn left_to_the_rows(words: &str) -> bool {
    [
        "or",
        "as said",
        "as noted",
        "as marked",
        "as stated",
        "as written",
        "as listed",
        "see",
        "below",
        "unless",
        "said in",
        "bench",
        "not",
    ]
    .iter()
    .any(|w| says(words, w))
}

fn readings_each(words: &str) -> Option<i64> {
    const NUMBERS: [&str; 10] =
        ["one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten"];
    let told = ["mean", "means", "average", "averages", "avg", "each", "per"].iter().any(|w| says(words, w));
    if !told {
        return None;
    }
    let list: Vec<&str> = words.split(' ').collect();
    list.windows(2).find_map(|pair| {
        if !matches!(pair[1], "readings" | "reading" | "pulls" | "repeats" | "reads" | "tries" | "runs") {
            return None;
        }
        let number = pair[0].parse::<i64>().ok();
        number
            .or_else(|| NUMBERS.iter().position(|n| *n == pair[0]).map(|n| n as i64 + 1))
            .filter(|n| (1..=50).contains(n))
    })
}

/// `page 31` as a title.
fn page_number(text: &str) -> Option<String> {
    let lower = text.to_lowercase();
    let at = lower.find("page ")?;
    if !lower.is_char_boundary(at) || (at > 0 && lower.as_bytes()[at - 1].is_ascii_alphanumeric()) {
        return None;
    }
    let digits: String = lower[at + 5..].chars().take_while(char::is_ascii_digit).collect();
    (!digits.is_empty()).then(|| format!("page {digits}"))
}

fn read_value(
    text: &str,
    kind: &CellKind,
    row: u32,
    label: Option<&(Field, Header)>,
    hand: Hand,
    page: &mut Page,
) {
    let field = label.map(|l| l.0);
    let told = |field, raw: &str, text: &str| PageValue {
        field,
        row: Some(row),
        raw: raw.to_owned(),
        quantity: None,
        text: Some(text.to_owned()),
        assumed: false,
    };
    match field {
        Some(Field::Who) => page.put(told(Field::Who, text, text)),
        Some(Field::Session) => page.put(told(Field::Session, text, text)),
        Some(Field::Item) => {
            let name = text.split([',', ';']).next().unwrap_or(text).trim();
            page.put(told(Field::Item, name, name));
        }
        Some(Field::Bench) => {
            let name = text.split([',', ';']).next().unwrap_or(text).trim();
            if figures(name, hand.decimal).iter().all(|f| f.read.is_none()) {
                page.put(told(Field::Bench, name, name));
            }
        }
        Some(Field::Restraint) => {
            if let Some(held) = restraint(text) {
                page.restraint.get_or_insert((held, row, text.to_owned()));
            }
        }
        Some(Field::Service) if service(text).is_some() && !left_to_the_rows(&plain(text)) => {
            page.service_note.get_or_insert((text.to_owned(), row));
        }
        _ => {}
    }
    if field.is_none() || field == Some(Field::Note) {
        bench_in_text(text, row, page);
        item_in_text(text, row, page);
    }
    find_date(text, kind, row, field, hand, page);
    find_quantities(text, row, label, hand, page);
}

fn find_date(text: &str, kind: &CellKind, row: u32, label: Option<Field>, hand: Hand, page: &mut Page) {
    if page.get(Field::Date).is_some() {
        return;
    }
    let whole = match kind {
        CellKind::Date(iso) => iso.as_str(),
        _ => text,
    };
    let mut tries: Vec<&str> = vec![whole];
    tries.extend(text.split([',', ';', '|']).map(str::trim));
    let tokens: Vec<&str> = text.split([' ', ',', ';', '(', ')']).filter(|t| !t.is_empty()).collect();
    tries.extend(tokens.iter().copied().filter(|t| t.len() >= 6 && t.contains(['/', '.', '-'])));
    tries.extend(word_spans(text, 3).into_iter().map(|span| span.trim_end_matches([':', ',', ';', '.'])));
    for piece in tries {
        // Plain eight digits are a date only behind a label.
        if piece.bytes().all(|b| b.is_ascii_digit()) && label != Some(Field::Date) {
            continue;
        }
        if let Some(civil) = civil::date(piece, hand.order, hand.guess) {
            page.ambiguous_date = civil.ambiguous;
            page.values.push(PageValue {
                field: Field::Date,
                row: Some(row),
                raw: piece.to_owned(),
                quantity: None,
                text: Some(civil.iso.get(..10).unwrap_or(&civil.iso).to_owned()),
                assumed: false,
            });
            return;
        }
    }
}

/// Runs of so many words, as slices.
fn word_spans(text: &str, count: usize) -> Vec<&str> {
    let mut starts = Vec::new();
    let mut inside = false;
    for (at, c) in text.char_indices() {
        if c.is_whitespace() {
            inside = false;
        } else if !inside {
            inside = true;
            starts.push(at);
        }
    }
    let end_of = |index: usize| -> usize {
        let from = starts[index];
        from + text[from..].find(char::is_whitespace).unwrap_or(text.len() - from)
    };
    (0..starts.len().saturating_sub(count - 1)).map(|i| &text[starts[i]..end_of(i + count - 1)]).collect()
}

/// `on the shed bench`, `shed bench, range 300 CFM`.
fn bench_in_text(text: &str, row: u32, page: &mut Page) {
    for piece in text.split([',', ';', '|']) {
        let words: Vec<&str> = piece.split_whitespace().collect();
        let Some(at) = words.iter().position(|w| w.eq_ignore_ascii_case("bench")) else { continue };
        if at == 0
            || words.get(at + 1).is_some_and(|w| {
                ["notes", "log", "book", "range", "tests", "results"].contains(&w.to_lowercase().as_str())
            })
        {
            continue;
        }
        let article = words[..at]
            .iter()
            .rposition(|w| ["the", "our", "my", "a", "on", "this"].contains(&w.to_lowercase().as_str()));
        let from = match article {
            Some(article) if article + 1 < at && at - article <= 4 => article + 1,
            None if at <= 3 && at + 1 == words.len() => 0,
            _ => continue,
        };
        let name = words[from..=at].join(" ");
        page.put(PageValue {
            field: Field::Bench,
            row: Some(row),
            raw: name.clone(),
            quantity: None,
            text: Some(name),
            assumed: false,
        });
    }
}

/// A tag behind a word for what stands on the bench: `two-barrel C2-1`.
fn item_in_text(text: &str, row: u32, page: &mut Page) {
    let words: Vec<&str> =
        text.split(|c: char| c.is_whitespace() || ",;|()".contains(c)).filter(|w| !w.is_empty()).collect();
    for pair in words.windows(2) {
        let before = plain(pair[0]);
        let of_items = ["carburetor", "carburettor", "carb", "barrel", "item", "body"]
            .iter()
            .any(|w| before.ends_with(w));
        let tag = pair[1];
        let tag_like = tag.len() >= 2
            && tag.len() <= 12
            && tag.bytes().any(|b| b.is_ascii_digit())
            && tag.bytes().any(|b| b.is_ascii_uppercase())
            && !tag.bytes().any(|b| b.is_ascii_lowercase())
            && Unit::named(tag, None).is_err();
        if of_items && tag_like {
            page.put(PageValue {
                field: Field::Item,
                row: Some(row),
                raw: tag.to_owned(),
                quantity: None,
                text: Some(tag.to_owned()),
                assumed: false,
            });
        }
    }
}

fn find_quantities(text: &str, row: u32, label: Option<&(Field, Header)>, hand: Hand, page: &mut Page) {
    if label.is_none() && civil::date(text, hand.order, hand.guess).is_some() {
        return;
    }
    let found = figures(text, hand.decimal);
    let weather = found.iter().filter(|f| f.read.is_some_and(|r| is_weather(&r))).count();
    // What has its unit is told first; bare numbers take what is left.
    let (with_unit, bare): (Vec<_>, Vec<_>) = found.iter().partition(|f| f.read.is_some());
    for figure in with_unit.into_iter().chain(bare) {
        let (start, end) = clause(text, figure.at);
        let mut words = plain(&text[start..end]);
        if let Some((_, header)) = label {
            words = format!("{} {words}", header.words.join(" "));
        }
        let field = label.map(|l| l.0).filter(|f| *f != Field::Note);
        let Some((field, read, assumed)) =
            meaning(figure, field, label.map(|l| &l.1), &words, weather, hand, page)
        else {
            continue;
        };
        if field == Field::StatedBaseline && page.baseline_kind.is_none() {
            // What it consists of may stand in brackets behind the number.
            let said = baseline_kind(&words);
            let whole = if said == BaselineKind::Unknown { baseline_kind(&plain(text)) } else { said };
            page.baseline_kind = Some(whole);
        }
        let raw = match field {
            Field::Range if label.is_none_or(|l| l.0 != Field::Range) => {
                with_word(text, start, figure, "range")
            }
            Field::StatedBaseline if label.is_none_or(|l| l.0 != Field::StatedBaseline) => {
                with_word(text, start, figure, "baseline")
            }
            _ => figure.raw,
        };
        page.put(PageValue {
            field,
            row: Some(row),
            raw: raw.to_owned(),
            quantity: Some(Quantity::read(read.si, figure.raw, read.unit)),
            text: None,
            assumed,
        });
    }
}

/// The figure with the word before it that says what it is.
fn with_word<'t>(text: &'t str, start: usize, figure: &Figure<'t>, word: &str) -> &'t str {
    let end = figure.at + figure.raw.len();
    let before = &text[start..figure.at];
    match before
        .char_indices()
        .rev()
        .find(|&(at, _)| before[at..].get(..word.len()).is_some_and(|w| w.eq_ignore_ascii_case(word)))
    {
        Some((at, _)) => &text[start + at..end],
        None => figure.raw,
    }
}

fn is_weather(read: &Read) -> bool {
    match read.unit.dimension() {
        Dimension::Temperature => true,
        Dimension::Pressure => read.si > 45_000.0,
        _ => false,
    }
}

/// A pressure that only the header of a flow tells: `Flow at 25 inH2O`.
pub(super) fn pressure_of_header(headers: &[&Header], row: u32, hand: Hand, page: &mut Page) {
    for header in headers {
        let lower = header.text.to_lowercase();
        let Some(at) = [" at ", "@"].iter().find_map(|mark| lower.find(mark).map(|at| at + mark.len()))
        else {
            continue;
        };
        let Some(rest) = header.text.get(at..) else { continue };
        let raw = rest[..rest.find(['(', '[', ',']).unwrap_or(rest.len())].trim();
        if let Some(read) =
            read_any(raw, hand.decimal).ok().filter(|r| r.unit.dimension() == Dimension::Pressure)
        {
            page.put(PageValue {
                field: Field::SetPressure,
                row: Some(row),
                raw: raw.to_owned(),
                quantity: Some(Quantity::read(read.si, raw, read.unit)),
                text: None,
                assumed: false,
            });
        }
    }
}

/// A carburetor of the shelf that a title names: `Night of August 12, HB-4, 400 CFM range`.
pub(super) fn item_of_shelf(rows: &[&Row], known: &Known, page: &mut Page) {
    if page.get(Field::Item).is_some() {
        return;
    }
    for row in rows {
        for cell in row.cells() {
            let text = plain(cell.raw);
            let named = known.carburetors().filter(|name| names(cell.raw, &text, name));
            let Some(name) = named.max_by_key(|name| name.len()) else { continue };
            page.put(PageValue {
                field: Field::Item,
                row: Some(row.number()),
                raw: name.to_owned(),
                quantity: None,
                text: Some(name.to_owned()),
                assumed: false,
            });
            return;
        }
    }
}

/// Whether a text names a carburetor; a tag of two letters must stand apart as it is spelled.
fn names(raw: &str, text: &str, name: &str) -> bool {
    if name.len() > 2 {
        return says(text, &plain(name));
    }
    let tagged = name.bytes().any(|b| b.is_ascii_uppercase()) && name.bytes().any(|b| b.is_ascii_digit());
    tagged && raw.split([',', ';', ' ', ':', '(', ')']).any(|word| word == name)
}

/// What a baseline's words say it consists of.
pub(crate) fn baseline_kind(words: &str) -> BaselineKind {
    let says_any = |phrases: &[&str]| phrases.iter().any(|p| says(words, p));
    if says_any(&[
        "bare",
        "no base",
        "without base",
        "nothing on",
        "carburetor alone",
        "carb only",
        "carb alone",
        "carburetor only",
        "carburettor alone",
        "naked",
        "without anything",
        "without any parts",
        "without parts",
        "nothing fitted",
        "nothing mounted",
        "no parts",
        "none on",
        "on its own",
        "by itself",
    ]) {
        BaselineKind::Bare
    } else if says_any(&[
        "with base",
        "with the base",
        "with bare base",
        "on the base",
        "base on",
        "with flat base",
        "with dropped base",
        "base fitted",
        "incl base",
        "base only",
    ]) {
        BaselineKind::WithBase
    } else {
        BaselineKind::Unknown
    }
}

fn meaning(
    figure: &Figure<'_>,
    label: Option<Field>,
    header: Option<&Header>,
    words: &str,
    weather: usize,
    hand: Hand,
    page: &Page,
) -> Option<(Field, Read, bool)> {
    let any = |phrases: &[&str]| phrases.iter().any(|p| says(words, p));
    let leak = any(&["leak", "leakage"]);
    let of_air = any(&["barometer", "baro", "barometric", "atmospheric", "station pressure", "glass"]);
    let in_unit = |unit: Unit, value: f64| Read {
        si: unit.to_si(value),
        value,
        unit,
        resolution: None,
        fraction: None,
    };
    if let Some(read) = figure.read {
        return match read.unit.dimension() {
            Dimension::Pressure if of_air || read.si > 45_000.0 => Some((Field::Barometer, read, false)),
            Dimension::Pressure if leak => None,
            Dimension::Pressure => Some((Field::SetPressure, read, false)),
            Dimension::Flow if leak => None,
            Dimension::Flow if any(&RANGE) => Some((Field::Range, read, false)),
            Dimension::Flow
                if label == Some(Field::StatedBaseline)
                    || any(&["baseline", "bare", "base line", "zero", "zeros", "nothing on", "naked"])
                    || any(&["carb alone", "carburetor alone", "referenz", "référence", "referencia"])
                    || any(&["reference"]) && !any(&["air", "reference air"]) =>
            {
                Some((Field::StatedBaseline, read, false))
            }
            Dimension::Temperature if any(&["meter"]) => Some((Field::MeterTemperature, read, false)),
            Dimension::Temperature => Some((Field::AirTemperature, read, false)),
            Dimension::Ratio => {
                let said = label == Some(Field::Humidity)
                    || any(&["rh", "humidity", "hum", "damp", "moisture"])
                    || any(&["feuchte", "luftfeuchte", "luftfeuchtigkeit", "humidité", "humedad"])
                    || figure.raw.to_lowercase().contains("rh");
                let other = any(&[
                    "loss",
                    "within",
                    "repeat",
                    "repeats",
                    "scatter",
                    "better",
                    "percent of",
                    "of range",
                    "spread",
                    "error",
                ]);
                let of_room = label == Some(Field::AirTemperature)
                    || any(&["weather", "conditions", "ambient", "room", "air"]);
                (said || ((weather > 0 || of_room) && !other)).then_some((Field::Humidity, read, false))
            }
            // An inch of something: `28 in` behind a label of a pressure.
            Dimension::Length if label == Some(Field::SetPressure) && read.unit == Unit::INCH => {
                Some((Field::SetPressure, in_unit(Unit::IN_H2O, read.value), true))
            }
            Dimension::Length if label == Some(Field::Barometer) && read.unit == Unit::INCH => {
                Some((Field::Barometer, in_unit(Unit::IN_HG, read.value), true))
            }
            Dimension::Length if label == Some(Field::Barometer) && read.unit == Unit::MM => {
                Some((Field::Barometer, in_unit(Unit::MM_HG, read.value), true))
            }
            _ => None,
        };
    }
    let value = figure.value?;
    let flow = page.flow_unit.unwrap_or(hand.flow);
    let headed = |dimension: Dimension| header.and_then(|h| h.unit_for(dimension, of_air));
    match label {
        Some(Field::SetPressure) => {
            let unit = headed(Dimension::Pressure);
            let usual = if flow == Unit::CFM { Unit::IN_H2O } else { Unit::KPA };
            (value > 0.0).then(|| (Field::SetPressure, in_unit(unit.unwrap_or(usual), value), unit.is_none()))
        }
        Some(Field::Barometer) => {
            let unit = headed(Dimension::Pressure);
            let taken = unit.or_else(|| barometer_unit(value))?;
            Some((Field::Barometer, in_unit(taken, value), unit.is_none()))
        }
        Some(Field::AirTemperature) => {
            let unit = headed(Dimension::Temperature);
            let usual = if value > 45.0 { Unit::FAHRENHEIT } else { Unit::CELSIUS };
            Some((Field::AirTemperature, in_unit(unit.unwrap_or(usual), value), unit.is_none()))
        }
        Some(Field::Humidity) => {
            let unit = headed(Dimension::Ratio);
            Some((Field::Humidity, in_unit(unit.unwrap_or(Unit::PERCENT), value), unit.is_none()))
        }
        Some(Field::Range) => {
            let unit = headed(Dimension::Flow);
            Some((Field::Range, in_unit(unit.unwrap_or(flow), value), unit.is_none()))
        }
        Some(Field::StatedBaseline) => {
            let unit = headed(Dimension::Flow);
            (value > 5.0)
                .then(|| (Field::StatedBaseline, in_unit(unit.unwrap_or(flow), value), unit.is_none()))
        }
        _ if any(&["baseline", "base line"]) && !leak && value > 5.0 => {
            Some((Field::StatedBaseline, in_unit(flow, value), true))
        }
        _ if of_air || any(&["hg", "mercury"]) => {
            let unit = barometer_unit(value)?;
            Some((Field::Barometer, in_unit(unit, value), true))
        }
        // Between a temperature and a humidity a bare number of that size is the barometer.
        _ if weather > 0 && page.get(Field::Barometer).is_none() && like_barometer(figure.raw, value) => {
            Some((Field::Barometer, in_unit(barometer_unit(value)?, value), true))
        }
        _ if any(&["temp", "temperature"]) && (0.0..130.0).contains(&value) => {
            let unit = if value > 45.0 { Unit::FAHRENHEIT } else { Unit::CELSIUS };
            Some((Field::AirTemperature, in_unit(unit, value), true))
        }
        _ if any(&["rh", "humidity"]) && (1.0..=100.0).contains(&value) => {
            Some((Field::Humidity, in_unit(Unit::PERCENT, value), true))
        }
        _ if any(&["test pressure", "set pressure", "depression", "test depression"])
            && (1.0..=100.0).contains(&value) =>
        {
            let unit = if flow == Unit::CFM { Unit::IN_H2O } else { Unit::KPA };
            Some((Field::SetPressure, in_unit(unit, value), true))
        }
        // A bare number beside a word for the flow of the carburetor alone; smaller ones count something.
        _ if any(&BARE) && !leak && value > 20.0 => Some((Field::StatedBaseline, in_unit(flow, value), true)),
        _ if value > 0.0 && of_range(words, figure.raw) => Some((Field::Range, in_unit(flow, value), true)),
        _ => None,
    }
}

/// What people call the carburetor with nothing on it.
const BARE: [&str; 12] = [
    "the bare",
    "carb only",
    "carburetor only",
    "bare carb",
    "bare carburetor",
    "carb alone",
    "carb bare",
    "carburetor alone",
    "zero run",
    "reference bare",
    "reference naked",
    "bare baseline",
];

/// Words for the range of a bench.
const RANGE: [&str; 8] =
    ["range", "scale", "full scale", "messbereich", "bereich", "plage", "gamme", "rango"];

/// Whether a number stands right beside a word for the range: `range 560`, `range of 560`, `400 range`.
fn of_range(words: &str, raw: &str) -> bool {
    let number = plain(raw);
    let list: Vec<&str> =
        words.split(' ').filter(|w| !["of", "is", "the", "to", "in", "use"].contains(w)).collect();
    let Some(at) = list.iter().position(|w| number.starts_with(*w) && !w.is_empty()) else { return false };
    let beside = |at: Option<usize>| at.and_then(|at| list.get(at)).is_some_and(|w| RANGE.contains(w));
    beside(at.checked_sub(1)) || beside(Some(at + number.split(' ').count()))
}

/// Whether a bare number is written as a barometer is read: hundredths of an inch, or whole hectopascals.
fn like_barometer(raw: &str, value: f64) -> bool {
    let parted = raw.contains(['.', ',']);
    (parted && (27.0..=31.5).contains(&value)) || (930.0..=1050.0).contains(&value)
}

/// The unit of a barometer reading, from its size. Source: common practice; ranges as of station pressures.
pub(crate) fn barometer_unit(value: f64) -> Option<Unit> {
    match value {
        v if (20.0..=33.0).contains(&v) => Some(Unit::IN_HG),
        v if (820.0..=1100.0).contains(&v) => Some(Unit::HPA),
        v if (500.0..=800.0).contains(&v) => Some(Unit::MM_HG),
        v if (60.0..=110.0).contains(&v) => Some(Unit::KPA),
        v if (60_000.0..=110_000.0).contains(&v) => Some(Unit::PASCAL),
        _ => None,
    }
}
