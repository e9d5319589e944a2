//! The key that a page gives to its own short words: `W = wing nut, N = new, T: taped`.

use super::terms::plain;

/// Short words of a page with what they stand for.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Legend(Vec<(String, String)>);

/// No short word is longer, in letters.
const SHORT: usize = 4;

/// A longer meaning explains itself, and none is twice as long.
const LONG: usize = 40;

impl Legend {
    /// Takes in what a line explains.
    pub fn hear(&mut self, line: &str) {
        let parts = line.trim_start_matches(['#', ';', '*', ' ']).split([',', ';', '|', '·', '\t', '\n']);
        // `T = taped. N = new`: a sentence may end within.
        for part in parts.flat_map(|part| part.split(". ")) {
            let Some((short, meaning)) = part.split_once('=').or_else(|| part.split_once(" : ")) else {
                continue;
            };
            // `Key: W = wing nut` begins with a word of its own.
            let short = short.rsplit([':', ' ']).find(|word| !word.is_empty()).unwrap_or("").trim();
            let mut meaning = meaning.trim().trim_end_matches('.');
            // `baseline (no tray = bare)` says what another column means.
            let conditional = meaning.split_once('(').is_some_and(|(_, inner)| inner.contains('='));
            if meaning.chars().count() > LONG || conditional {
                // What follows a colon or stands in brackets only explains.
                meaning = meaning.split([':', '(']).next().unwrap_or(meaning).trim();
            }
            let letters = short.chars().count();
            let worded = meaning.chars().filter(|c| c.is_alphabetic()).count() > letters;
            let numeric = meaning.starts_with(|c: char| c.is_ascii_digit());
            let named = short.chars().all(char::is_alphabetic);
            if (1..=SHORT).contains(&letters)
                && named
                && worded
                && !numeric
                && meaning.chars().count() <= 2 * LONG
            {
                self.0.push((short.to_lowercase(), meaning.to_owned()));
            }
        }
    }

    /// What a cell stands for: itself where the page explains nothing of it.
    pub fn spelled_out<'t>(&'t self, text: &'t str) -> &'t str {
        if self.0.is_empty() {
            return text;
        }
        let own = plain(text);
        self.0.iter().find(|(short, _)| *short == own).map_or(text, |(_, meaning)| meaning)
    }
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
}
