//! The outlines of an assembly: polygons in meters around the center axis, y up from the register.

use super::super::known::Known;
use super::fit::{HoodFit, NUT_M, highest_m, lid_of, lowest, register_of, stud_of};
use super::stand::{
    LayerStands, PLAUSIBLE_FILTER_M, PLAUSIBLE_LID_M, PLAUSIBLE_OTHER_M, PLAUSIBLE_SPACER_M,
    PLAUSIBLE_VELOCITY_STACK_M, Stand, missing_of,
};
use super::{Mark, MarkKind, Piece, Placed, Pleats, SectionDrawing, length};
use PartDimension::{
    Height, InsideDiameter, NeckBore, OutsideDiameter, PleatCount, PleatDepth, PleatFreeHeight, StudLength,
};
use airshelf_catalog::{PartDimension, PartKind, Source, Vehicle};
use airshelf_units::System;

type Polygon = Vec<[f64; 2]>;

/// Sheet that pans and lids are pressed of, m; only drawn. Common practice, no source.
const SHEET_M: f64 = 0.0014;
/// Wall of a spacer or neck, m; only drawn.
const WALL_M: f64 = 0.008;
/// What stands over a ring's edge, m; only drawn.
const EDGE_M: f64 = 0.006;
/// A diameter for what nobody measured: a common ring and a common four-barrel neck, m. Common practice, no source.
const PLAUSIBLE_RING_M: f64 = 0.28;
const PLAUSIBLE_NECK_M: f64 = 5.125 * 0.0254;
/// Radial depth of a ring whose inside nobody measured, m; only drawn.
const PLAUSIBLE_DEPTH_M: f64 = 0.026;
/// Half the thickness of a 1/4 in stud, and half the width of its nut, m.
const STUD_RADIUS_M: f64 = 0.003_2;
const NUT_RADIUS_M: f64 = 0.009;

/// The diameters that pieces share, so that what lies on another is drawn on it.
struct Radii {
    ring_inner: f64,
    neck: f64,
    plate: f64,
}

impl Radii {
    fn of(placed: &[Placed], item: Option<&Known>) -> Radii {
        let of = |kind, dimension| {
            placed.iter().filter(|p| p.known.kind() == Some(kind)).find_map(|p| p.known.si(dimension))
        };
        let plates = [PartKind::Lid, PartKind::Base].into_iter().filter_map(|k| of(k, OutsideDiameter));
        let plate = plates.fold(None, |most: Option<f64>, d| Some(most.map_or(d, |m| m.max(d))));
        let ring = of(PartKind::Filter, OutsideDiameter)
            .or(plate.map(|d| d - 2.0 * EDGE_M))
            .filter(|d| *d > 0.0)
            .unwrap_or(PLAUSIBLE_RING_M);
        let ring_inner = of(PartKind::Filter, InsideDiameter)
            .filter(|inner| *inner < ring)
            .unwrap_or((ring - 2.0 * PLAUSIBLE_DEPTH_M).max(0.5 * ring));
        let neck = item
            .and_then(register_of)
            .map(|(_, d)| d)
            .or_else(|| lowest(placed).and_then(|k| k.si(NeckBore)))
            .unwrap_or(PLAUSIBLE_NECK_M.min(0.6 * ring_inner));
        Radii {
            ring_inner: 0.5 * ring_inner,
            neck: 0.5 * neck,
            plate: 0.5 * plate.unwrap_or(ring + 2.0 * EDGE_M),
        }
    }
}

fn both_sides(points: &[[f64; 2]]) -> Vec<Polygon> {
    let mirrored = points.iter().map(|[x, y]| [-x, *y]).collect();
    vec![points.to_vec(), mirrored]
}

fn rectangle(left: f64, right: f64, bottom: f64, top: f64) -> Polygon {
    vec![[left, bottom], [right, bottom], [right, top], [left, top]]
}

fn ring(inner: f64, outer: f64, bottom: f64, top: f64) -> Vec<Polygon> {
    both_sides(&rectangle(inner, outer, bottom, top))
}

/// A closed outline over the axis from its right half: what is seen from above, from the rim inward, and from below, from
/// the axis outward.
fn across(above: &[[f64; 2]], below: &[[f64; 2]]) -> Vec<Polygon> {
    let mirror = |points: &[[f64; 2]]| points.iter().rev().map(|[x, y]| [-x, *y]).collect::<Polygon>();
    vec![[above.to_vec(), mirror(above), mirror(below), below.to_vec()].concat()]
}

fn spacer(known: &Known, at: LayerStands, radii: &Radii) -> Vec<Polygon> {
    let inner = 0.5 * known.si(NeckBore).unwrap_or(2.0 * radii.neck);
    let outer = 0.5 * known.si(OutsideDiameter).unwrap_or(0.0);
    let outer = if outer > inner { outer } else { inner + WALL_M };
    let height = known.si(Height).unwrap_or(PLAUSIBLE_SPACER_M);
    ring(inner, outer, at.seat_m, at.seat_m + height)
}

fn base(known: &Known, at: LayerStands, radii: &Radii) -> Vec<Polygon> {
    let (hub, seat) = (at.seat_m, at.top_m);
    let rim = 0.5 * known.si(OutsideDiameter).unwrap_or(2.0 * radii.plate);
    let bore = 0.5 * known.si(NeckBore).unwrap_or(2.0 * radii.neck);
    let bore = bore.min(0.9 * rim);
    let sheet = known.si(Height).filter(|h| *h < 0.006).unwrap_or(SHEET_M);
    // The slope keeps inside of the ring that stands on the pan.
    let end = (radii.ring_inner - 0.004).clamp(bore + 0.002, rim);
    let hub_end = (bore + 0.012).min(0.5 * (bore + end));
    let slope_end = (hub_end + 0.5 * (hub - seat).abs()).clamp(hub_end, end);
    both_sides(&[
        [bore, hub],
        [hub_end, hub],
        [slope_end, seat],
        [rim - sheet, seat],
        [rim - sheet, seat + 0.004],
        [rim, seat + 0.004],
        [rim, seat - sheet],
        [slope_end - 0.3 * sheet, seat - sheet],
        [hub_end - 0.3 * sheet, hub - sheet],
        [bore, hub - sheet],
    ])
}

/// Media and end seals of a filter.
fn filter(known: &Known, at: LayerStands) -> (Vec<Polygon>, Vec<Polygon>) {
    let outer = 0.5 * known.si(OutsideDiameter).unwrap_or(PLAUSIBLE_RING_M);
    let inner = 0.5
        * known
            .si(InsideDiameter)
            .filter(|d| *d < 2.0 * outer)
            .unwrap_or((2.0 * outer - 2.0 * PLAUSIBLE_DEPTH_M).max(outer));
    let height = known.si(Height).unwrap_or(PLAUSIBLE_FILTER_M);
    let (bottom, top) = (at.seat_m, at.seat_m + height);
    let free = known.si(PleatFreeHeight).filter(|free| *free < height);
    let seal = free.map_or(0.09 * height, |free| 0.5 * (height - free));
    // The media are as deep as their pleats, set in the middle of the seals.
    let room = outer - inner;
    let depth = known.si(PleatDepth).filter(|depth| *depth < room).unwrap_or(0.86 * room);
    let side = 0.5 * (room - depth);
    let media = ring(inner + side, outer - side, bottom + seal, top - seal);
    let mut seals = ring(inner, outer, bottom, bottom + seal);
    seals.extend(ring(inner, outer, top - seal, top));
    (media, seals)
}

fn lid(known: &Known, at: LayerStands, radii: &Radii) -> Vec<Polygon> {
    let rim = 0.5 * known.si(OutsideDiameter).unwrap_or(2.0 * radii.plate);
    let height = known.si(Height).unwrap_or(PLAUSIBLE_LID_M);
    let (seat, top) = (at.seat_m, at.seat_m + height);
    let sheet = SHEET_M.min(0.5 * height);
    let inner = radii.ring_inner.min(0.85 * rim);
    let crown = 0.86 * inner;
    across(
        &[[rim, seat - 0.005], [rim, seat + sheet], [inner, seat + sheet], [crown, top]],
        &[[crown, top - sheet], [inner, seat], [rim - sheet, seat], [rim - sheet, seat - 0.005]],
    )
}

fn velocity_stack(known: &Known, at: LayerStands, radii: &Radii) -> Vec<Polygon> {
    let bore = 0.5 * known.si(NeckBore).unwrap_or(2.0 * radii.neck);
    let height = known.si(Height).unwrap_or(PLAUSIBLE_VELOCITY_STACK_M);
    let mouth = 0.5 * known.si(OutsideDiameter).filter(|d| *d > 2.0 * bore).unwrap_or(2.6 * bore);
    let lip = (mouth - bore).min(0.6 * height);
    let (bottom, top) = (at.seat_m, at.seat_m + height);
    let wall = 0.002;
    // A quarter of an ellipse from bore to mouth, in six steps.
    let curve = |out: f64| {
        (0..=6).map(move |step| {
            let angle = f64::from(step) * std::f64::consts::FRAC_PI_2 / 6.0;
            [
                bore + out + (mouth - bore) * (1.0 - libm::cos(angle)),
                top - out - lip * (1.0 - libm::sin(angle)),
            ]
        })
    };
    let mut outline: Polygon = vec![[bore + wall, bottom], [bore, bottom]];
    outline.extend(curve(0.0));
    outline.extend(curve(wall).collect::<Vec<_>>().into_iter().rev());
    both_sides(&outline)
}

fn carburetor(radii: &Radii, sheet_m: f64) -> Vec<Polygon> {
    let rim = radii.neck - 0.000_5;
    let wall = (0.12 * rim).clamp(0.003, 0.008);
    both_sides(&[
        [rim - wall, -0.028],
        [rim + 0.009, -0.028],
        [rim + 0.009, -sheet_m],
        [rim, -sheet_m],
        [rim, 0.003],
        [rim - 0.6 * wall, 0.004],
        [rim - wall, 0.002],
    ])
}

fn estimated(known: &Known) -> bool {
    known.sizes.values().any(|size| size.value.source() == Some(Source::Estimated))
}

fn names(dimensions: Vec<PartDimension>) -> Vec<String> {
    dimensions.into_iter().map(|d| d.name().to_owned()).collect()
}

/// `on_register`: what carries it is drawn too.
pub(super) fn drawing(
    placed: &[Placed],
    item: Option<&Known>,
    on_register: bool,
    stand: &Stand,
    marks: Vec<Mark>,
    system: System,
) -> SectionDrawing {
    let radii = Radii::of(placed, item);
    let mut pieces = Vec::new();
    if item.is_some() || (on_register && lowest(placed).is_some()) {
        let label = match item {
            Some(item) => match register_of(item).and_then(|(of, _)| item.said(of, system)) {
                Some(size) => format!("{}, register {size}", item.label()),
                None => item.label(),
            },
            None => "carburetor, not chosen".into(),
        };
        let missing = item.map(missing_of).unwrap_or_default();
        pieces.push(Piece {
            layer: -1,
            kind: "carburetor".into(),
            label,
            outline: carburetor(&radii, SHEET_M),
            pleats: None,
            estimated: item.is_none_or(estimated),
            missing: names(missing),
        });
    }
    for (at, (Placed { known, .. }, stands)) in placed.iter().zip(&stand.layers).enumerate() {
        let layer = at as i32;
        let (kind, outline, pleats) = match known.kind() {
            Some(PartKind::Spacer) => ("spacer", spacer(known, *stands, &radii), None),
            Some(PartKind::Base) => ("base", base(known, *stands, &radii), None),
            Some(PartKind::Lid) => ("lid", lid(known, *stands, &radii), None),
            Some(PartKind::VelocityStack) => ("stack", velocity_stack(known, *stands, &radii), None),
            Some(PartKind::Filter) => {
                let (media, seals) = filter(known, *stands);
                pieces.push(Piece {
                    layer,
                    kind: "seal".into(),
                    label: format!("end seals of {}", known.name()),
                    outline: seals,
                    pleats: None,
                    estimated: known.si(PleatFreeHeight).is_none(),
                    missing: Vec::new(),
                });
                let count = known.si(PleatCount).map(|count| Pleats { count: count.round() as u32 });
                (if is_foam(known) { "foam" } else { "filter" }, media, count)
            }
            Some(PartKind::Stud) => ("stud", stud(known, placed, stand), None),
            Some(PartKind::Other) if known.si(OutsideDiameter).is_some() => {
                ("other", other(known, *stands, &radii), None)
            }
            Some(PartKind::Other | PartKind::Carburetor) | None => continue,
        };
        pieces.push(Piece {
            layer,
            kind: kind.into(),
            label: known.label(),
            outline,
            pleats,
            estimated: estimated(known),
            missing: names(missing_of(known)),
        });
    }
    if stud_of(placed).is_some() && lid_of(placed).is_some() {
        pieces.push(Piece {
            layer: placed.len() as i32,
            kind: "nut".into(),
            label: "nut".into(),
            outline: vec![rectangle(-NUT_RADIUS_M, NUT_RADIUS_M, stand.top_m, stand.top_m + NUT_M)],
            pleats: None,
            estimated: true,
            missing: Vec::new(),
        });
    }
    let points = || pieces.iter().flat_map(|p| p.outline.iter().flatten());
    let widest = points().map(|[x, _]| x.abs()).fold(0.0, f64::max);
    let low = points().map(|[_, y]| *y).fold(f64::INFINITY, f64::min);
    let high = points().map(|[_, y]| *y).fold(f64::NEG_INFINITY, f64::max);
    let height_m = if high > low { high - low } else { 0.0 };
    SectionDrawing { width_m: 2.0 * widest, height_m, pieces, marks }
}

/// Foam has no folds to draw; its name says that it is foam.
fn is_foam(known: &Known) -> bool {
    let named = known.part.name.as_deref().is_some_and(|name| name.to_lowercase().contains("foam"));
    named && known.si(PleatCount).is_none()
}

fn stud(known: &Known, placed: &[Placed], stand: &Stand) -> Vec<Polygon> {
    let below = if lowest(placed).is_some() { -0.02 } else { 0.0 };
    let plausible = if stand.top_m > 0.0 { stand.top_m + NUT_M } else { 0.09 };
    let length = known.si(StudLength).unwrap_or(plausible);
    vec![rectangle(-STUD_RADIUS_M, STUD_RADIUS_M, below, length)]
}

fn other(known: &Known, at: LayerStands, radii: &Radii) -> Vec<Polygon> {
    let outer = 0.5 * known.si(OutsideDiameter).unwrap_or(2.0 * radii.plate);
    let height = known.si(Height).unwrap_or(PLAUSIBLE_OTHER_M);
    match known.si(NeckBore).or(known.si(InsideDiameter)).filter(|d| *d < 2.0 * outer) {
        Some(bore) => ring(0.5 * bore, outer, at.seat_m, at.seat_m + height),
        None => vec![rectangle(-outer, outer, at.seat_m, at.seat_m + height)],
    }
}

/// The lines across: register, highest point, hood.
pub(super) fn marks(
    placed: &[Placed],
    stand: &Stand,
    vehicle: Option<&Vehicle>,
    hood: Option<&HoodFit>,
    item: Option<&Known>,
    system: System,
) -> Vec<Mark> {
    let mut marks = Vec::new();
    if stand.layers.is_empty() && item.is_none() {
        return marks;
    }
    marks.push(Mark { kind: MarkKind::Register, y_m: 0.0, text: "register".into() });
    if let Some(stack_m) = stand.stack_m {
        let text = match stand.is_whole() {
            true => format!("top at {}", length(stack_m, system).text),
            false => "top, not every height is known".into(),
        };
        marks.push(Mark { kind: MarkKind::Top, y_m: stand.top_m, text });
    }
    let (highest_m, _) = highest_m(placed, stand);
    if highest_m > stand.top_m + NUT_M {
        let text = format!("stud to {}", length(highest_m, system).text);
        marks.push(Mark { kind: MarkKind::Stud, y_m: highest_m, text });
    }
    if let Some(height) = vehicle.and_then(|v| v.hood_height.as_ref()) {
        let text = match hood.and_then(|hood| hood.clearance.as_ref()) {
            Some(clear) if stand.is_whole() && clear.si < 0.0 => {
                format!("hood, {} too low", length(-clear.si, system).text)
            }
            Some(clear) if stand.is_whole() => format!("hood, {} above", clear.text),
            _ => format!("hood at {}", length(height.si, system).text),
        };
        marks.push(Mark { kind: MarkKind::Hood, y_m: height.si, text });
    }
    marks
}
