//! Printing: one JSON document, or aligned tables and sentences that fit the terminal.

use airshelf_app::Fault;
use airshelf_app::units::{Digits, Dimension, System, show, usual};
use comfy_table::{CellAlignment, ColumnConstraint, ContentArrangement, Table, Width, presets};
use indicatif::{ProgressBar, ProgressStyle};
use serde::Serialize;
use std::borrow::Cow;
use std::io::{IsTerminal, Write};
use std::sync::mpsc;
use std::thread::JoinHandle;
use std::time::Duration;

/// Where and how answers are printed.
pub(crate) struct Output {
    /// Print one JSON document instead of tables.
    pub(crate) json: bool,
    /// A person's units.
    pub(crate) system: System,
    /// Whether the person said which.
    stated: bool,
    width: usize,
    failed: Option<std::io::Error>,
}

impl Output {
    pub(crate) fn new(json: bool, system: Option<System>) -> Self {
        let width = Table::new().width().map(usize::from).or_else(columns).unwrap_or(100);
        Output {
            json,
            system: system.unwrap_or(System::Us),
            stated: system.is_some(),
            width: width.clamp(40, 160),
            failed: None,
        }
    }

    /// Shows the shelf's units where the person asked for none.
    pub(crate) fn prefer(&mut self, system: System) {
        if !self.stated {
            self.system = system;
        }
    }

    /// Prints a line. A reader that went away (`| head`) is no fault.
    pub(crate) fn line(&mut self, text: &str) {
        let done = writeln!(std::io::stdout().lock(), "{}", harmless(text));
        self.note(done);
    }

    /// Prints bytes as they are.
    pub(crate) fn bytes(&mut self, bytes: &[u8]) {
        let mut out = std::io::stdout().lock();
        let done = out.write_all(bytes).and_then(|()| out.flush());
        self.note(done);
    }

    /// Prints a sheet: byte for byte, but harmless to a terminal.
    pub(crate) fn sheet(&mut self, bytes: &[u8]) {
        if !std::io::stdout().is_terminal() {
            return self.bytes(bytes);
        }
        for line in String::from_utf8_lossy(bytes).lines() {
            self.line(line);
        }
    }

    /// Keeps the first fault of printing; a reader that went away is none.
    fn note(&mut self, done: std::io::Result<()>) {
        if let Err(error) = done
            && error.kind() != std::io::ErrorKind::BrokenPipe
        {
            self.failed.get_or_insert(error);
        }
    }

    /// Whether everything printed has reached its place; says so on stderr where not.
    pub(crate) fn arrived(&mut self) -> bool {
        let done = std::io::stdout().lock().flush();
        self.note(done);
        if let Some(error) = &self.failed {
            let _ = writeln!(std::io::stderr(), "airshelf: the answer could not be written: {error}");
        }
        self.failed.is_none()
    }

    /// Prints the JSON document, streamed.
    pub(crate) fn document(&mut self, value: &impl Serialize) {
        let mut out = std::io::BufWriter::new(std::io::stdout().lock());
        let done = serde_json::to_writer_pretty(&mut out, value).map_err(std::io::Error::from);
        let done = done.and_then(|()| writeln!(out)).and_then(|()| out.flush());
        drop(out);
        self.note(done);
    }

    /// Prints the answer: as a document for scripts, else by `show`.
    pub(crate) fn answer(&mut self, value: &impl Serialize, show: impl FnOnce(&mut Output)) {
        if self.json { self.document(value) } else { show(self) }
    }

    /// Prints text under a label, wrapped to the terminal with a hanging indent.
    pub(crate) fn wrapped(&mut self, label: &str, text: &str) {
        for line in wrap(label, text, self.width) {
            self.line(&line);
        }
    }

    /// Prints an aligned table; columns of numbers stand to the right. Where the words do not fit beside each other,
    /// every row becomes a list of its columns, so that no word is broken and no column is lost.
    pub(crate) fn table(&mut self, header: &[&str], rows: &[Vec<String>]) {
        let rows: Vec<Vec<String>> =
            rows.iter().map(|row| row.iter().map(|cell| harmless(cell).into_owned()).collect()).collect();
        let columns = rows.iter().map(Vec::len).max().unwrap_or(0);
        let cells = |at: usize| {
            rows.iter().filter_map(move |row| row.get(at)).map(String::as_str).filter(|c| !c.is_empty())
        };
        let longest_word: Vec<usize> = (0..columns)
            .map(|at| {
                let words = cells(at).chain(header.get(at).copied()).flat_map(str::split_whitespace);
                words.map(|word| word.chars().count()).max().unwrap_or(0)
            })
            .collect();
        if rows.is_empty() {
            return;
        }
        if longest_word.iter().map(|w| w + GAP).sum::<usize>() > self.width + GAP {
            return self.listed(header, &rows);
        }
        let mut table = Table::new();
        table.load_style(presets::NOTHING).set_content_arrangement(ContentArrangement::Dynamic);
        table.set_width(u16::try_from(self.width + GAP).unwrap_or(100));
        if !header.is_empty() {
            table.set_header(header);
        }
        for row in &rows {
            table.add_row(row);
        }
        for (at, column) in table.column_iter_mut().enumerate() {
            column.set_padding((0, GAP as u16));
            let least = u16::try_from(longest_word[at] + GAP).unwrap_or(100);
            column.set_constraint(ColumnConstraint::LowerBoundary(Width::Fixed(least)));
            if !header.is_empty() && cells(at).next().is_some() && cells(at).all(is_number) {
                column.set_cell_alignment(CellAlignment::Right);
            }
        }
        for line in table.lines() {
            self.line(line.trim_end());
        }
    }

    /// Prints every row as a list of its columns.
    fn listed(&mut self, header: &[&str], rows: &[Vec<String>]) {
        for (number, row) in rows.iter().enumerate() {
            if number > 0 && header.len() > 2 {
                self.line("");
            }
            for (at, cell) in row.iter().enumerate().filter(|(_, cell)| !cell.is_empty()) {
                let lead = if at == 0 { "" } else { "  " };
                let label = match header.get(at) {
                    Some(name) if !name.is_empty() => format!("{lead}{name}: "),
                    _ => lead.to_owned(),
                };
                self.wrapped(&label, cell);
            }
        }
    }

    /// A quantity in a person's units, to five significant digits.
    pub(crate) fn quantity(&self, si: f64, dimension: Dimension) -> String {
        show(si, usual(dimension, self.system), Digits::Significant(5))
    }

    /// Says on stderr what happened and what to do.
    pub(crate) fn fault(&mut self, fault: &Fault) {
        if self.json {
            self.document(&serde_json::json!({ "fault": fault }));
        }
        self.said("airshelf: ", &fault.message);
        if let Some(hint) = &fault.hint {
            self.said("  ", hint);
        }
    }

    /// Talks on stderr.
    pub(crate) fn talk(&self, text: &str) {
        self.said("", text);
    }

    fn said(&self, label: &str, text: &str) {
        for line in wrap(label, text, self.width) {
            let _ = writeln!(std::io::stderr(), "{}", harmless(&line));
        }
    }

    /// Shows on a terminal that work of unknown length goes on, once it has taken a second, until it is dropped.
    pub(crate) fn waiting(&self, what: &'static str) -> Waiting {
        let (done, ended) = mpsc::channel();
        let shown = std::io::stderr().is_terminal().then(|| std::thread::spawn(move || wait(what, &ended)));
        Waiting { done: Some(done), shown }
    }

    /// A progress bar on stderr that only shows on a terminal and after a second.
    pub(crate) fn progress(&self, what: &str) -> Progress {
        Progress { bar: None, what: what.to_owned(), begin: std::time::Instant::now() }
    }
}

/// A progress bar that appears once work has taken a second.
pub(crate) struct Progress {
    bar: Option<ProgressBar>,
    what: String,
    begin: std::time::Instant,
}

impl Progress {
    /// Shows how much is done.
    pub(crate) fn at(&mut self, done: u64, total: u64) {
        if self.bar.is_none() && self.begin.elapsed().as_millis() > 1000 && std::io::stderr().is_terminal() {
            let bar = ProgressBar::new(total);
            if let Ok(style) = ProgressStyle::with_template("{msg} {wide_bar} {percent} %") {
                bar.set_style(style);
            }
            bar.set_message(self.what.clone());
            self.bar = Some(bar);
        }
        if let Some(bar) = &self.bar {
            bar.set_length(total);
            bar.set_position(done);
        }
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        if let Some(bar) = &self.bar {
            bar.finish_and_clear();
        }
    }
}

/// Work of unknown length that goes on.
pub(crate) struct Waiting {
    done: Option<mpsc::Sender<()>>,
    shown: Option<JoinHandle<()>>,
}

fn wait(what: &'static str, ended: &mpsc::Receiver<()>) {
    if ended.recv_timeout(Duration::from_secs(1)) != Err(mpsc::RecvTimeoutError::Timeout) {
        return;
    }
    let bar = ProgressBar::new_spinner().with_message(what);
    if let Ok(style) = ProgressStyle::with_template("{msg} {spinner} {elapsed}") {
        bar.set_style(style);
    }
    bar.enable_steady_tick(Duration::from_millis(100));
    let _ = ended.recv();
    bar.finish_and_clear();
}

impl Drop for Waiting {
    fn drop(&mut self) {
        drop(self.done.take());
        if let Some(shown) = self.shown.take() {
            let _ = shown.join();
        }
    }
}

/// Spaces between columns.
const GAP: usize = 2;

/// Wraps text under a label with a hanging indent; a word longer than the room stands alone and whole.
fn wrap(label: &str, text: &str, width: usize) -> Vec<String> {
    let indent = label.chars().count().min(width / 2);
    let mut lines = Vec::new();
    let mut line = label.to_owned();
    let mut length = label.chars().count();
    let mut bare = true;
    for word in words(text) {
        let letters = word.chars().count();
        if !bare && length + 1 + letters > width {
            lines.push(std::mem::replace(&mut line, " ".repeat(indent)));
            length = indent;
            bare = true;
        }
        if !bare {
            line.push(' ');
            length += 1;
        }
        line.push_str(&word);
        length += letters;
        bare = false;
    }
    lines.push(line);
    lines.into_iter().map(|line| line.trim_end().to_owned()).collect()
}

/// The words of a text; a percent sign stays with its number.
fn words(text: &str) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match words.last_mut() {
            Some(number) if word.starts_with('%') => *number = format!("{number} {word}"),
            _ => words.push(word.to_owned()),
        }
    }
    words
}

/// Whether a cell is a number, a range of numbers, or the dash of a missing one, with or without a unit.
fn is_number(cell: &str) -> bool {
    let first = cell.trim_start_matches(['−', '-', '+']).chars().next();
    cell == "–" || first.is_none_or(|c| c.is_ascii_digit())
}

/// Shows what would steer a terminal instead of sending it there: control characters, and those that turn the direction
/// of writing around.
pub(crate) fn harmless(text: &str) -> Cow<'_, str> {
    let steers = |c: char| c.is_control() || matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
    if !text.contains(steers) {
        return Cow::Borrowed(text);
    }
    let mut shown = String::with_capacity(text.len() + 8);
    for c in text.chars() {
        if steers(c) { shown.extend(c.escape_default()) } else { shown.push(c) }
    }
    Cow::Owned(shown)
}

fn columns() -> Option<usize> {
    std::env::var("COLUMNS").ok()?.parse().ok()
}
