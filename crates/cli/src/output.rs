//! Printing: one JSON document, or aligned tables and sentences that fit the terminal.

use airshelf_app::Fault;
use airshelf_app::units::{Digits, Dimension, System, show, usual};
use comfy_table::{ContentArrangement, Table, presets};
use indicatif::{ProgressBar, ProgressStyle};
use serde::Serialize;
use std::io::{IsTerminal, Write};

/// Where and how answers are printed.
pub(crate) struct Output {
    /// Print one JSON document instead of tables.
    pub(crate) json: bool,
    /// A person's units.
    pub(crate) system: System,
    width: usize,
    failed: Option<std::io::Error>,
}

impl Output {
    pub(crate) fn new(json: bool, system: System) -> Self {
        let width = Table::new().width().map(usize::from).or_else(columns).unwrap_or(100);
        Output { json, system, width: width.clamp(40, 160), failed: None }
    }

    /// Prints a line. A reader that went away (`| head`) is no fault.
    pub(crate) fn line(&mut self, text: &str) {
        let done = writeln!(std::io::stdout().lock(), "{text}");
        self.note(done);
    }

    /// Prints bytes as they are.
    pub(crate) fn bytes(&mut self, bytes: &[u8]) {
        let mut out = std::io::stdout().lock();
        let done = out.write_all(bytes).and_then(|()| out.flush());
        self.note(done);
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
            eprintln!("airshelf: the answer could not be written: {error}");
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
        let indent = label.chars().count();
        let room = self.width.saturating_sub(indent).max(20);
        let mut line = String::new();
        let mut first = true;
        let mut lines = Vec::new();
        for word in text.split_whitespace() {
            if !line.is_empty() && line.chars().count() + 1 + word.chars().count() > room {
                lines.push(std::mem::take(&mut line));
            }
            if !line.is_empty() {
                line.push(' ');
            }
            line.push_str(word);
        }
        lines.push(line);
        for line in lines {
            let lead = if first { label.to_owned() } else { " ".repeat(indent) };
            self.line(format!("{lead}{line}").trim_end());
            first = false;
        }
    }

    /// Prints an aligned table; numbers are right-aligned by their look.
    pub(crate) fn table(&mut self, header: &[&str], rows: &[Vec<String>]) {
        if rows.is_empty() {
            return;
        }
        let mut table = Table::new();
        table.load_style(presets::NOTHING).set_content_arrangement(ContentArrangement::Dynamic);
        table.set_width(u16::try_from(self.width).unwrap_or(100));
        if !header.is_empty() {
            table.set_header(header);
        }
        for row in rows {
            table.add_row(row);
        }
        for column in table.column_iter_mut() {
            column.set_padding((0, 2));
        }
        for line in table.lines() {
            self.line(line.trim_end());
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
        eprintln!("airshelf: {}", fault.message);
        if let Some(hint) = &fault.hint {
            eprintln!("  {hint}");
        }
    }

    /// Talks on stderr.
    pub(crate) fn talk(&self, text: &str) {
        eprintln!("{text}");
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

fn columns() -> Option<usize> {
    std::env::var("COLUMNS").ok()?.parse().ok()
}
