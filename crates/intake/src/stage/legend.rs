//! The key that a page gives to its own words: `W = wing nut, N = new, T: taped`, `q = flow, m³/h`.

use super::terms::plain;
use crate::map::Header;
use crate::map::header::words_of;
use airshelf_units::Unit;

/// What a page says that a word of it stands for.
#[derive(Clone, Debug, PartialEq)]
struct Entry {
    word: String,
    meaning: String,
    /// The unit that stands behind the meaning, where the word is that of a column.
    unit: Option<Unit>,
    /// Too long for an abbreviation: what it says by itself comes first.
    whole: bool,
    /// It is what a column is called, and no cell.
    column: bool,
}

/// Words of a page with what they stand for.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Legend(Vec<Entry>);

/// No short word is longer, in letters.
const SHORT: usize = 4;

/// No word or phrase that a page explains is longer, in letters.
const PHRASE: usize = 24;

/// A longer meaning explains itself, and none is twice as long.
const LONG: usize = 40;

/// Marks between the explanations of a line.
const BETWEEN: [char; 6] = [',', ';', '|', '·', '\t', '\n'];

impl Legend {
    /// Takes in what a line explains.
    pub fn hear(&mut self, line: &str) {
        if !line.contains('=') && !line.contains(" : ") {
            return;
        }
        line.split([';', '|', '\n']).flat_map(|part| part.split(". ")).for_each(|part| self.several(part));
        let parts = line.trim_start_matches(['#', ';', '*', ' ']).split(BETWEEN);
        let mut last = 0..0;
        // `T = taped. N = new`: a sentence may end within.
        for part in parts.flat_map(|part| part.split(". ")).flat_map(nested) {
            let from = self.0.len();
            self.explain(part);
            if self.0.len() > from {
                last = from..self.0.len();
            } else if let Some(unit) = only_unit(part) {
                // `q = flow, m³/h`: a unit behind what was explained last.
                self.0[last.clone()].iter_mut().for_each(|entry| entry.unit = Some(unit));
            } else {
                last = 0..0;
            }
        }
    }

    fn explain(&mut self, part: &str) {
        let Some((words, meaning)) = part.split_once('=').or_else(|| part.split_once(" : ")) else {
            return;
        };
        // `Key: W = wing nut` begins with a word of its own.
        let words = words.rsplit(':').find(|own| !own.trim().is_empty()).unwrap_or("").trim();
        let mut meaning = meaning.trim().trim_end_matches('.');
        if !meaning.contains('(') {
            meaning = meaning.trim_end_matches(')').trim();
        }
        // `baseline (no tray = bare)` says what another column means.
        let conditional = meaning.split_once('(').is_some_and(|(_, inner)| inner.contains('='));
        if meaning.chars().count() > LONG || conditional {
            // What follows a colon or stands in brackets only explains.
            meaning = meaning.split([':', '(']).next().unwrap_or(meaning).trim();
        }
        if meaning.chars().count() > 2 * LONG || meaning.starts_with(|c: char| c.is_ascii_digit()) {
            return;
        }
        // `pa / pg = pull asked / got`: two words explained at once.
        let (keys, meanings): (Vec<&str>, Vec<&str>) =
            (words.split('/').map(str::trim).collect(), meaning.split('/').map(str::trim).collect());
        if keys.len() > 1 && keys.len() == meanings.len() && keys.iter().all(|key| is_short(key)) {
            let longest = meanings.iter().max_by_key(|m| m.split(' ').count()).copied().unwrap_or("");
            let shared = longest.split(' ').next().unwrap_or("");
            for (key, own) in keys.into_iter().zip(meanings) {
                let alone = own != longest && !own.starts_with(shared);
                self.put(key, if alone { format!("{shared} {own}") } else { own.to_owned() }, false);
            }
            return;
        }
        let named = |text: &str| text.split(' ').all(|w| !w.is_empty() && w.chars().all(char::is_alphabetic));
        let short = words.rsplit(' ').next().unwrap_or("");
        let count = words.split(' ').count();
        let ordinary = short.chars().count() > 2 && short.chars().all(char::is_lowercase);
        if (count > 1 && ordinary || count == 1 && short.chars().count() > SHORT)
            && count <= 3
            && named(words)
            && words.chars().count() <= PHRASE
        {
            self.put(words, meaning.to_owned(), true);
        } else if is_column(short) {
            self.0.push(Entry {
                word: plain(short),
                meaning: meaning.to_owned(),
                unit: None,
                whole: false,
                column: true,
            });
        } else if is_short(short) && !(count > 1 && ordinary) {
            self.put(short, meaning.to_owned(), false);
        }
    }

    /// `out, in, high = outer diameter, inner diameter, height`: as many columns as meanings.
    fn several(&mut self, part: &str) {
        let Some((words, meanings)) = part.split_once('=').filter(|(_, meanings)| !meanings.contains('='))
        else {
            return;
        };
        let words: Vec<&str> =
            words.split(',').map(|w| w.trim().rsplit([':', ' ']).next().unwrap_or("")).collect();
        let meanings: Vec<&str> = meanings.split(',').map(str::trim).collect();
        if words.len() < 2 || words.len() != meanings.len() {
            return;
        }
        let named = |word: &str| !word.is_empty() && word.chars().all(|c| c.is_alphanumeric() || c == '_');
        if words.iter().all(|word| named(word)) && meanings.iter().all(|meaning| !meaning.is_empty()) {
            for (word, meaning) in words.into_iter().zip(meanings) {
                self.0.push(Entry {
                    word: plain(word),
                    meaning: meaning.to_owned(),
                    unit: None,
                    whole: false,
                    column: true,
                });
            }
        }
    }

    fn put(&mut self, word: &str, meaning: String, whole: bool) {
        if self.0.iter().any(|e| e.column && e.word == plain(word)) {
            return;
        }
        let letters = if whole { 1 } else { word.chars().count() };
        if meaning.chars().filter(|c| c.is_alphabetic()).count() > letters {
            self.0.push(Entry { word: plain(word), meaning, unit: None, whole, column: false });
        }
    }

    /// What a cell stands for: itself where the page explains nothing of it.
    pub fn spelled_out<'t>(&'t self, text: &'t str) -> &'t str {
        if self.0.is_empty() {
            return text;
        }
        let own = plain(text);
        self.0.iter().find(|e| !e.whole && !e.column && e.word == own).map_or(text, |entry| &entry.meaning)
    }

    /// Reads a cell as what it stands for, else as what the page explains of its words.
    pub fn read<T>(&self, text: &str, read: impl Fn(&str) -> Option<T>) -> Option<T> {
        let spelled = self.spelled_out(text);
        read(spelled).or_else(|| {
            let own = if self.0.is_empty() { return None } else { plain(spelled) };
            self.0.iter().find(|e| e.whole && e.word == own).and_then(|entry| read(&entry.meaning))
        })
    }

    /// Whether the page explains nothing.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// A column's header with its words and its unit as the page explains them.
    pub fn header(&self, header: &Header) -> Option<Header> {
        let own = if self.0.is_empty() { return None } else { plain(&header.text) };
        let named = self.0.iter().find(|e| !e.whole && e.word == own);
        // `neck_mm` is the `neck` of the key, in its own unit.
        let pieced = || {
            let bare = header.words.join(" ");
            let apart = header.text.contains('_') && header.unit.is_some() && !bare.is_empty();
            self.0.iter().find(|e| apart && e.word == bare)
        };
        let entry = named.or_else(pieced)?;
        let told = Header::of(header.column, &entry.meaning);
        let of_header = header.unit.filter(|_| !header.words.is_empty());
        let words = if told.words.is_empty() { words_of(&entry.meaning) } else { told.words };
        let unit = entry.unit.or(told.unit).or(of_header);
        // What stands in brackets may be the better word.
        let text = if header.text.contains('_') { entry.meaning.clone() } else { header.text.clone() };
        Some(Header { text, words, unit, unknown: None, ..header.clone() })
    }

    /// A column's header in one piece, `q_top_l_s`, with those of its words spelled out that the page explains.
    pub fn pieces(&self, header: &Header) -> Option<Header> {
        if self.0.is_empty() || !header.text.contains('_') {
            return None;
        }
        let meaning = |word: &String| self.0.iter().find(|e| !e.whole && e.word == *word);
        let spelled = |word: &String| match meaning(word) {
            Some(entry) => words_of(&entry.meaning),
            None => vec![word.clone()],
        };
        let words: Vec<String> = header.words.iter().flat_map(spelled).collect();
        (words != header.words).then(|| Header { words, ..header.clone() })
    }
}

/// `carb_mouth`: a name in one piece.
fn is_column(word: &str) -> bool {
    let pieces = word.split('_').all(|piece| !piece.is_empty() && piece.chars().all(char::is_alphanumeric));
    word.contains('_') && pieces && word.chars().count() <= PHRASE
}

fn is_short(word: &str) -> bool {
    (1..=SHORT).contains(&word.chars().count()) && word.chars().all(char::is_alphabetic)
}

/// Takes apart what explains words within an explanation: `w = what: b = bare`, `h = held (n = nut`.
fn nested(part: &str) -> Vec<&str> {
    let mut out = Vec::new();
    let mut rest = part;
    let mut from = 0;
    while let Some(mark) = rest[from..].find(['(', ':']).map(|at| from + at) {
        let inner = &rest[mark + 1..];
        let one = inner.split_once('=').is_some_and(|(word, _)| is_short(word.trim()));
        if one && rest[..mark].contains('=') {
            out.push(&rest[..mark]);
            rest = inner;
            from = 0;
        } else {
            from = mark + 1;
        }
    }
    out.push(rest);
    // `T = taped / N = new`
    out.into_iter()
        .flat_map(|piece| {
            let several = piece.split(" / ").all(|one| one.contains('='));
            if several { piece.split(" / ").collect() } else { vec![piece] }
        })
        .collect()
}

fn only_unit(part: &str) -> Option<Unit> {
    let part = part.trim().trim_end_matches(['.', ')']).trim();
    if part.is_empty() || part.chars().count() > SHORT * 4 {
        return None;
    }
    let header = Header::of(0, part);
    header.unit.filter(|_| header.words.is_empty())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_explains_its_short_words() {
        let mut legend = Legend::default();
        legend.hear("# key: T = thumbscrew, H=held by hand; WO = washed and oiled, bare = 240.1 CFM, P = 10");
        assert_eq!(legend.spelled_out("T"), "thumbscrew");
        assert_eq!(legend.spelled_out("h."), "held by hand");
        assert_eq!(legend.spelled_out("WO"), "washed and oiled");
        for own in ["bare", "P", "X", "thumbscrew"] {
            assert_eq!(legend.spelled_out(own), own);
        }
    }

    #[test]
    fn a_key_may_be_prose_of_several_sentences_and_lines() {
        let mut legend = Legend::default();
        legend.hear("Two wet days. TH = thumbscrew run down. O = oiled\nLK = leakage of the rig with a plate over the hole");
        legend.hear("Codes: LAD = ladder: one stack at four depressions, on purpose and in a row");
        assert_eq!(legend.spelled_out("th"), "thumbscrew run down");
        assert_eq!(legend.spelled_out("O"), "oiled");
        assert_eq!(legend.spelled_out("LK"), "leakage of the rig with a plate over the hole");
        assert_eq!(legend.spelled_out("LAD"), "ladder: one stack at four depressions");
        legend.hear("NK = naked run (tray none = bare carb)");
        assert_eq!(legend.spelled_out("NK"), "naked run");
    }

    #[test]
    fn an_explanation_may_stand_within_another() {
        let mut legend = Legend::default();
        legend.hear("jb = job: nk = naked (nothing on), gd = dressed, fx = fixing (st = strap, pm = palm), el = element");
        for (word, meaning) in [
            ("jb", "job"),
            ("nk", "naked (nothing on)"),
            ("gd", "dressed"),
            ("fx", "fixing"),
            ("st", "strap"),
            ("pm", "palm"),
            ("el", "element"),
        ] {
            assert_eq!(legend.spelled_out(word), meaning);
        }
    }

    #[test]
    fn columns_are_explained_with_their_units_and_two_at_once() {
        let mut legend = Legend::default();
        legend.hear(
            "v = flow, L/s; wa / wg = water aimed at / got, mm of water; w = warmth, °C. T = taped / N = new",
        );
        for (text, words, unit) in [
            ("V", "flow", Unit::L_S),
            ("wa", "water aimed at", Unit::MM_H2O),
            ("wg", "water got", Unit::MM_H2O),
            ("w", "warmth", Unit::CELSIUS),
        ] {
            let told = legend.header(&Header::of(0, text)).unwrap();
            assert_eq!(
                (told.words.join(" ").as_str(), told.unit, told.text.as_str()),
                (words, Some(unit), text)
            );
        }
        assert_eq!((legend.spelled_out("T"), legend.spelled_out("N")), ("taped", "new"));
    }

    #[test]
    fn a_whole_phrase_is_explained_as_one_and_is_asked_last() {
        let mut legend = Legend::default();
        legend.hear("door shut = a plate over the hole, clean carb = carb alone");
        let bare = |text: &str| text.contains("alone").then_some(1);
        assert_eq!(legend.read("clean carb", bare), Some(1));
        assert_eq!((legend.read("carb", bare), legend.spelled_out("carb")), (None, "carb"));
        assert_eq!(legend.spelled_out("shut"), "shut");
    }
}
