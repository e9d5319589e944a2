//! Pressure drop of the part against the test pressure: what it cannot be, and what it seldom is.

use super::desk::Desk;
use super::evening::Model;
use super::fault::Detail;
use super::rule::Rule;
use airshelf_catalog::PartKind;
use airshelf_catalog::limits::Limited;

/// A gain smaller than this, or than so many times the scatter, is noise.
const GAIN: (f64, f64) = (0.005, 3.3);

pub(crate) fn check(desk: &mut Desk, model: &Model) {
    let rows = desk.rows();
    let limit = desk.shelf.limits.of(Limited::DropOfPressure);
    let scatter = model.scatter.map_or(0.0, |(s, _)| s);
    let stated = desk.evening.session.stated_baseline.as_ref().map(|q| q.si);
    // A page that writes its losses with a minus throughout has no gains.
    let losses = || rows.iter().filter_map(|r| r.loss());
    let sign = if losses().filter(|l| l.si < 0.0).count() * 2 > losses().count() { -1.0 } else { 1.0 };
    for (i, row) in rows.iter().enumerate() {
        if !row.is_test() || row.assembly.is_none() || !desk.sound(i) {
            continue;
        }
        // Flow over baseline: measured, or by the page's own loss.
        let ratio = match (model.at_set.ln_q[i], model.at_set.ln_q0) {
            (Some(q), Some(q0)) => libm::exp(q - q0),
            _ => {
                let baseline = row.claim.and_then(|c| c.stated_baseline.as_ref()).map(|q| q.si).or(stated);
                let Some((loss, baseline)) = row.loss().map(|l| l.si).zip(baseline.filter(|b| *b > 0.0))
                else {
                    continue;
                };
                if row.flow().is_some() {
                    continue;
                }
                1.0 - sign * loss / baseline
            }
        };
        let share = 1.0 - ratio * ratio;
        let field = if row.flow().is_some() { "flow" } else { "stated_loss" };
        let gains =
            |p: &usize| matches!(desk.shelf.parts[*p].kind(), Some(PartKind::Base | PartKind::VelocityStack));
        let may_gain = desk.shelf.layers(row).iter().any(|(_, p)| gains(p));
        let (low, high) =
            (limit.usual_low.unwrap_or(f64::NEG_INFINITY), limit.usual_high.unwrap_or(f64::INFINITY));
        let noise = 2.0 * GAIN.0.max(GAIN.1 * scatter);
        let crossed = if share > high {
            high
        } else if share < low - noise && !may_gain {
            low
        } else {
            continue;
        };
        let detail = Detail::Share {
            value: share,
            limit: crossed,
            what: "pressure drop of the part against the test pressure",
        };
        desk.report(i, Rule::Unusual, field, detail);
    }
}
