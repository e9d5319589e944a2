//! More area, or an added parallel path, that flows less than what it replaces: swap back and look.

use super::desk::{Desk, layer_field};
use super::element::media_area_m2;
use super::evening::{Model, layers_by_kind};
use super::fault::{Amount, Detail};
use super::rule::Rule;
use super::shelf::PartSeen;
use airshelf_catalog::{PartDimension, PartKind};
use airshelf_units::Unit;

/// A shortfall of this share of flow is worth a look even when the bench has not resolved it.
const SHORTFALL: f64 = 0.015;
/// An area must be larger by this to count as larger.
const LARGER: f64 = 1.03;

pub(crate) fn check(desk: &mut Desk, model: &Model) {
    let rows = desk.rows();
    let groups = &model.groups;
    let means: Vec<Option<(f64, usize)>> = groups.iter().map(|(_, f)| model.mean(f)).collect();
    let layers: Vec<Vec<(Option<PartKind>, usize)>> =
        groups.iter().map(|(_, f)| layers_by_kind(desk, &rows[f[0][0]])).collect();
    for a in 0..groups.len() {
        for b in 0..groups.len() {
            let (Some((mean_a, n_a)), Some((mean_b, n_b))) = (means[a], means[b]) else { continue };
            if a == b || mean_a >= mean_b || groups[a].0.1 != groups[b].0.1 {
                continue;
            }
            let Some((larger, smaller, path)) = one_larger(desk, &layers[a], &layers[b]) else { continue };
            let lid_only = larger.kind() == Some(PartKind::Lid);
            if lid_only && groups[a].0.2 != groups[b].0.2 {
                continue;
            }
            let less = 1.0 - libm::exp(mean_a - mean_b);
            let resolved = model.scatter.is_some_and(|(s, freedom)| {
                freedom >= 4.0 && n_a >= 2 && n_b >= 2 && {
                    let u = s * (1.0 / n_a as f64 + 1.0 / n_b as f64).sqrt();
                    // A limit for all pairs of a small session: about Tukey's at 95 % (Student's t near 4).
                    less > 4.0 * u && less > 0.005
                }
            });
            if less < SHORTFALL && !resolved {
                continue;
            }
            let mut covered: Vec<usize> = groups[a].1.iter().flatten().copied().collect();
            let like = rows[covered[0]].flow();
            covered.extend(groups[b].1.iter().flatten());
            let detail = Detail::LessFlow {
                larger: larger.tag(),
                smaller: smaller.tag(),
                larger_flow: Amount::like(libm::exp(mean_a), like, Unit::CFM),
                smaller_flow: Amount::like(libm::exp(mean_b), like, Unit::CFM),
                less,
                path,
            };
            let field = if like.is_some() { "flow" } else { layer_field(larger.kind()) };
            desk.report_over(&covered, Rule::BiggerFlowsLess, field, detail);
        }
    }
}

/// The one part of `a` that is larger than its counterpart in `b`, where everything else is the same.
fn one_larger<'s, 'a>(
    desk: &Desk<'s, 'a>,
    a: &[(Option<PartKind>, usize)],
    b: &[(Option<PartKind>, usize)],
) -> Option<(&'s PartSeen<'a>, &'s PartSeen<'a>, bool)> {
    if a.len() != b.len() {
        return None;
    }
    let mut differing = a.iter().zip(b).filter(|(x, y)| x != y);
    let (x, y) = differing.next()?;
    if differing.next().is_some() || x.0 != y.0 {
        return None;
    }
    let (x, y) = (&desk.shelf.parts[x.1], &desk.shelf.parts[y.1]);
    match x.kind()? {
        PartKind::Filter => more_area(x, y).then_some((x, y, false)),
        PartKind::Lid => adds_path(x, y).then_some((x, y, true)),
        _ => None,
    }
}

const MEDIA: [&str; 6] = ["paper", "foam", "gauze", "cotton", "mesh", "felt"];

fn medium(part: &PartSeen) -> Option<&'static str> {
    let words = part.words();
    MEDIA.into_iter().find(|m| words.contains(m))
}

fn more_area(x: &PartSeen, y: &PartSeen) -> bool {
    let differ = |a: &Option<String>, b: &Option<String>| a.is_some() && b.is_some() && a != b;
    if differ(&x.part.maker, &y.part.maker) || medium(x) != medium(y) || medium_word(x) != medium_word(y) {
        return false;
    }
    if let (Some(a), Some(b)) = (media_area_m2(x), media_area_m2(y)) {
        return a > LARGER * b;
    }
    let of = |d| Some((x.dimension(d)?, y.dimension(d)?));
    let (Some((od_a, od_b)), Some((h_a, h_b))) =
        (of(PartDimension::OutsideDiameter), of(PartDimension::Height))
    else {
        return false;
    };
    od_a > 0.99 * od_b && h_a > 0.99 * h_b && od_a * h_a > LARGER * od_b * h_b
}

/// A second maker's medium is another medium.
fn medium_word(part: &PartSeen) -> bool {
    part.words().contains("second maker") || part.words().contains("other maker")
}

const OPEN: [&str; 10] = [
    "vented",
    "slotted",
    "louvered",
    "perforated",
    "drilled",
    "open top",
    "flow-through",
    "flow through",
    "filtered top",
    "with holes",
];
const CLOSED: [&str; 6] = ["solid", "plain", "closed", "unvented", "shut", "without holes"];

fn adds_path(x: &PartSeen, y: &PartSeen) -> bool {
    let (x, y) = (x.words(), y.words());
    let has = |text: &str, words: &[&str]| words.iter().any(|w| text.contains(w));
    has(&x, &OPEN)
        && !x.contains("unvented")
        && has(&y, &CLOSED)
        && (!has(&y, &OPEN) || y.contains("unvented"))
}
