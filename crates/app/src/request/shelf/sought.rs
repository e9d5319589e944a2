//! What somebody looks for, as they type it: words and sizes, such as `paper 14 x 3, neck 5-1/8`.

use airshelf_catalog::PartDimension;
use airshelf_store::SizeSought;
use airshelf_units::{Decimal, Dimension, Read, System, Unit, read, read_sizes, usual};

/// A size may be this share of itself off and still be listed, and at least so many meters.
const REACH: f64 = 0.08;
const LEAST_REACH_M: f64 = 0.005;
/// Counts of pleats that two people make of one ring differ by so many.
const COUNTING: f64 = 2.0;

/// Words and sizes.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Sought {
    pub words: String,
    pub sizes: Vec<SizeSought>,
    /// How the sizes were understood, such as `OD 14 in`.
    pub understood: Vec<String>,
}

/// The words by which people name a dimension in a search.
const NAMES: [(&str, PartDimension); 17] = [
    ("od", PartDimension::OutsideDiameter),
    ("outside", PartDimension::OutsideDiameter),
    ("diameter", PartDimension::OutsideDiameter),
    ("id", PartDimension::InsideDiameter),
    ("inside", PartDimension::InsideDiameter),
    ("height", PartDimension::Height),
    ("high", PartDimension::Height),
    ("tall", PartDimension::Height),
    ("neck", PartDimension::NeckBore),
    ("bore", PartDimension::NeckBore),
    ("drop", PartDimension::Drop),
    ("stud", PartDimension::StudLength),
    ("length", PartDimension::StudLength),
    ("register", PartDimension::Register),
    ("pleats", PartDimension::PleatCount),
    ("depth", PartDimension::PleatDepth),
    ("free", PartDimension::PleatFreeHeight),
];

/// A lone number may be any of these.
const ANY: [PartDimension; 7] = [
    PartDimension::OutsideDiameter,
    PartDimension::InsideDiameter,
    PartDimension::Height,
    PartDimension::NeckBore,
    PartDimension::Drop,
    PartDimension::StudLength,
    PartDimension::Register,
];

fn dimension_of(word: &str) -> Option<PartDimension> {
    let word = word.to_lowercase();
    NAMES.iter().find(|(name, _)| *name == word).map(|(_, dimension)| *dimension)
}

/// The unit that a length without one is taken in.
fn length_unit(system: System) -> Unit {
    usual(Dimension::Length, system)
}

impl Sought {
    pub fn read(text: &str, system: System) -> Sought {
        let mut sought = Sought::default();
        let mut words: Vec<String> = Vec::new();
        // A comma between sizes ends one; one within a number is the decimal sign of half the world.
        for piece in text.split([';']).flat_map(|piece| piece.split(", ")) {
            let piece = piece.trim_end_matches(',');
            let mut name: Option<PartDimension> = None;
            let mut figures: Vec<&str> = Vec::new();
            for word in piece.split_whitespace() {
                let numeric = word.starts_with(|c: char| c.is_ascii_digit() || "¼½¾⅛⅜⅝⅞.".contains(c));
                let joins = matches!(word.to_lowercase().as_str(), "x" | "×" | "by");
                let unit = !figures.is_empty() && Unit::named(word, Some(Dimension::Length)).is_ok();
                if numeric || (joins && !figures.is_empty()) || unit {
                    figures.push(word);
                    continue;
                }
                match dimension_of(word) {
                    // `free height` and `neck bore` are one name; `3 tall` names what stands before it.
                    Some(_) if name.is_some() && figures.is_empty() => {}
                    Some(dimension) if !figures.is_empty() && name.is_none() && is_single(&figures) => {
                        sought.take(&figures, Some(dimension), system, &mut words);
                        figures.clear();
                    }
                    Some(dimension) => {
                        sought.take(&figures, name.take(), system, &mut words);
                        figures.clear();
                        name = Some(dimension);
                    }
                    None => {
                        sought.take(&figures, name.take(), system, &mut words);
                        figures.clear();
                        words.push(word.to_owned());
                    }
                }
            }
            if figures.is_empty()
                && let Some(dimension) = name
            {
                // `neck` alone is a word.
                words.push(dimension.name().split(' ').next().unwrap_or_default().to_owned());
            }
            sought.take(&figures, name, system, &mut words);
        }
        sought.words = words.join(" ");
        sought
    }

    fn take(
        &mut self,
        figures: &[&str],
        name: Option<PartDimension>,
        system: System,
        words: &mut Vec<String>,
    ) {
        if figures.is_empty() {
            return;
        }
        let text = figures.join(" ");
        let text = text.trim_end_matches([' ', 'x', '×', '-', '/']);
        if name == Some(PartDimension::PleatCount) {
            match read(text, Dimension::Count, Some(Unit::COUNT), Decimal::Point) {
                Ok(count) => self.size(vec![PartDimension::PleatCount], &count),
                Err(_) => words.push(text.to_owned()),
            }
            return;
        }
        let unit = length_unit(system);
        let sizes = read_sizes(text, unit, Decimal::Point)
            .or_else(|| read(text, Dimension::Length, Some(unit), Decimal::Point).ok().map(|one| vec![one]));
        let Some(sizes) = sizes.filter(|sizes| sizes.iter().all(|size| size.si > 0.0)) else {
            words.push(text.to_owned());
            return;
        };
        let round = [PartDimension::OutsideDiameter, PartDimension::InsideDiameter, PartDimension::Height];
        for (at, size) in sizes.iter().enumerate() {
            let dimensions = match (name, sizes.len(), at) {
                (Some(dimension), 1, _) => vec![dimension],
                (_, 2, 0) | (_, 3, 0) => vec![round[0]],
                (_, 2, _) | (_, 3, 2) => vec![round[2]],
                (_, 3, _) => vec![round[1]],
                _ => ANY.to_vec(),
            };
            self.size(dimensions, size);
        }
    }

    fn size(&mut self, dimensions: Vec<PartDimension>, size: &Read) {
        let count = size.unit == Unit::COUNT;
        let reading_si = match count {
            true => COUNTING,
            // Half of what was typed last, and the rule that the other was read with.
            false => {
                libm::hypot((0.5 * size.resolution_si().unwrap_or(0.0)).min(0.002), super::known::READ_M)
            }
        };
        let reach_si = match count {
            true => (REACH * size.si).max(3.0 * COUNTING),
            false => (REACH * size.si).max(LEAST_REACH_M),
        };
        let shown = size.echo();
        let shown = shown.split(" = ").next().unwrap_or(&shown);
        self.understood.push(match dimensions.as_slice() {
            [one] => format!("{} {shown}", one.name()),
            _ => format!("any size {shown}"),
        });
        self.sizes.push(SizeSought { dimensions, si: size.si, reach_si, reading_si });
    }
}

fn is_single(figures: &[&str]) -> bool {
    !figures.iter().any(|word| word.contains(['x', '×']) || *word == "by")
}

#[cfg(test)]
mod tests {
    use super::*;
    use PartDimension::*;

    fn sizes(text: &str) -> Vec<(Vec<PartDimension>, f64)> {
        let inches = |size: SizeSought| (size.dimensions, (size.si / 0.0254 * 1e6).round() / 1e6);
        Sought::read(text, System::Us).sizes.into_iter().map(inches).collect()
    }

    #[test]
    fn sizes_are_read_as_they_are_said_at_a_counter() {
        let three = vec![(vec![OutsideDiameter], 14.0), (vec![Height], 3.0), (vec![NeckBore], 5.125)];
        assert_eq!(sizes("14 x 3, neck 5-1/8"), three);
        assert_eq!(sizes("14x3 neck 5-1/8"), three);
        assert_eq!(
            sizes("14 x 3 5-1/8 neck"),
            vec![],
            "three figures without a sign between them are no sizes"
        );
        assert_eq!(sizes("2-1/4 tall"), vec![(vec![Height], 2.25)]);
        assert_eq!(sizes("neck bore 3 1/16"), vec![(vec![NeckBore], 3.0625)]);
        assert_eq!(sizes("250 x 60 mm").len(), 2);
    }

    #[test]
    fn words_stay_words_and_tags_are_no_sizes() {
        let sought = Sought::read("paper 11 x 2-1/4", System::Us);
        assert_eq!((sought.words.as_str(), sought.sizes.len()), ("paper", 2));
        let tag = Sought::read("PF-12", System::Us);
        assert_eq!((tag.words.as_str(), tag.sizes.len()), ("PF-12", 0));
        assert_eq!(Sought::read("neck", System::Us).words, "neck");
        assert!(Sought::read("", System::Us) == Sought::default());
    }

    #[test]
    fn a_lone_number_may_be_any_length_and_a_count_is_none() {
        assert_eq!(Sought::read("5-1/8", System::Us).sizes[0].dimensions.len(), ANY.len());
        let pleats = Sought::read("pleats 210", System::Us);
        assert_eq!((pleats.sizes[0].dimensions.clone(), pleats.sizes[0].si), (vec![PleatCount], 210.0));
    }

    #[test]
    fn a_search_half_typed_still_means_something() {
        assert_eq!(sizes("14 x"), vec![(ANY.to_vec(), 14.0)]);
        assert_eq!(sizes("14 x 3, neck").len(), 2);
        assert_eq!(sizes("14 x 3, neck 5-").len(), 3);
    }
}
