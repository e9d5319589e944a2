//! The fields that a column, a cell or a page line can hold.

use airshelf_catalog::{PartDimension, PartKind};
use airshelf_units::Dimension;
use std::borrow::Cow;

macro_rules! fields {
    ($( $variant:ident $name:literal $(: $dimension:ident)?, )+) => {
        /// What a column holds.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
        pub enum Field {
            $( #[doc = concat!("The field `", $name, "`.")] $variant, )+
            /// A dimension of the part that the row describes.
            Of(PartDimension),
            /// A dimension of a part that a run names, such as `filter_height`.
            PartOf(PartKind, PartDimension),
        }

        const PLAIN: &[(Field, &str, Option<Dimension>)] = &[ $( (Field::$variant, $name, fields!(@ $($dimension)?)), )+ ];
    };
    (@ $dimension:ident) => { Some(Dimension::$dimension) };
    (@) => { None };
}

fields! {
    Session "session", Date "date", Bench "bench", Range "range": Flow, Item "item", Purpose "purpose", Order "order",
    Clock "clock", Base "base", Spacer "spacer", Filter "filter", Lid "lid", VelocityStack "velocity_stack", Stud "stud",
    Assembly "assembly", Restraint "restraint", Service "service", Direction "direction", Refit "refit",
    SetPressure "set_pressure": Pressure, ActualPressure "actual_pressure": Pressure, Flow "flow": Flow,
    AirTemperature "air_temperature": Temperature, MeterTemperature "meter_temperature": Temperature,
    Barometer "barometer": Pressure, Humidity "humidity": Ratio, Note "note", Photo "photo",
    StatedBaseline "stated_baseline": Flow, StatedLoss "stated_loss": Flow, StatedLossPercent "stated_loss_percent": Ratio,
    Leakage "leakage": Flow, NetFlow "net_flow": Flow, FlowAtSetPressure "flow_at_set_pressure": Flow,
    FlowAtReferenceAir "flow_at_reference_air": Flow, AirFactor "air_factor", Place "place", Readings "readings",
    BaselineSession "baseline_session", Size "size": Length,
    Tag "tag", Kind "kind", Name "name", Maker "maker", Price "price", Arrived "arrived", Filtration "filtration",
    Revision "revision", Revised "revised", Status "status", Source "source",
    Who "who", Guess "guess": Flow, Low "low": Flow, High "high": Flow, Written "written",
    FlowPercent "flow_percent": Ratio, RatedAt "rated_at": Pressure, AgainstFirst "against_first": Flow,
}

/// The dimension's name within a field's name.
pub(crate) fn dimension_key(dimension: PartDimension) -> &'static str {
    match dimension {
        PartDimension::OutsideDiameter => "OD",
        PartDimension::InsideDiameter => "ID",
        PartDimension::Height => "height",
        PartDimension::PleatCount => "pleat_count",
        PartDimension::PleatDepth => "pleat_depth",
        PartDimension::PleatFreeHeight => "pleat_free_height",
        PartDimension::NeckBore => "neck_bore",
        PartDimension::Drop => "drop",
        PartDimension::StudLength => "stud_length",
        PartDimension::Register => "register",
        PartDimension::MediaArea => "media_area",
        PartDimension::Mass => "mass",
    }
}

/// What a part's dimension is measured in.
pub(crate) fn measured_in(dimension: PartDimension) -> Dimension {
    match dimension {
        PartDimension::PleatCount => Dimension::Count,
        PartDimension::MediaArea => Dimension::Area,
        PartDimension::Mass => Dimension::Mass,
        _ => Dimension::Length,
    }
}

fn kind_key(kind: PartKind) -> &'static str {
    match kind {
        PartKind::VelocityStack => "velocity_stack",
        other => other.name(),
    }
}

impl Field {
    /// Gives the field's name, as [`airshelf_catalog::SheetTable::columns`] holds it.
    pub fn name(self) -> Cow<'static, str> {
        match self {
            Field::Of(dimension) => Cow::Borrowed(dimension_key(dimension)),
            Field::PartOf(kind, dimension) => {
                Cow::Owned(format!("{}_{}", kind_key(kind), dimension_key(dimension)))
            }
            plain => Cow::Borrowed(PLAIN.iter().find(|p| p.0 == plain).map_or("", |p| p.1)),
        }
    }

    /// The names of all fields but those of a part that a run names.
    pub(crate) fn names() -> impl Iterator<Item = String> {
        let dimensions = PartDimension::ALL.iter().map(|d| dimension_key(*d));
        PLAIN.iter().map(|p| p.1).chain(dimensions).map(str::to_owned)
    }

    /// Finds the field of a name; underscores and spaces are alike.
    pub fn from_name(name: &str) -> Option<Field> {
        let name = name.trim().replace(' ', "_");
        let same = |other: &str| other.eq_ignore_ascii_case(&name);
        if let Some(plain) = PLAIN.iter().find(|p| same(p.1)) {
            return Some(plain.0);
        }
        if let Some(&dimension) = PartDimension::ALL.iter().find(|&&d| same(dimension_key(d))) {
            return Some(Field::Of(dimension));
        }
        PartKind::ALL.iter().find_map(|&kind| {
            let rest = name.strip_prefix(kind_key(kind))?.strip_prefix('_')?;
            let dimension =
                PartDimension::ALL.iter().find(|&&d| dimension_key(d).eq_ignore_ascii_case(rest))?;
            Some(Field::PartOf(kind, *dimension))
        })
    }

    /// Says what the field's quantity measures; none for text, numbers and terms.
    pub fn dimension(self) -> Option<Dimension> {
        match self {
            Field::Of(dimension) | Field::PartOf(_, dimension) => Some(measured_in(dimension)),
            plain => PLAIN.iter().find(|p| p.0 == plain).and_then(|p| p.2),
        }
    }

    /// The kind of part that a column of tags holds.
    pub(crate) fn layer(self) -> Option<PartKind> {
        match self {
            Field::Base => Some(PartKind::Base),
            Field::Spacer => Some(PartKind::Spacer),
            Field::Filter => Some(PartKind::Filter),
            Field::Lid => Some(PartKind::Lid),
            Field::VelocityStack => Some(PartKind::VelocityStack),
            _ => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_name_leads_back_to_its_field() {
        for (field, name, _) in PLAIN {
            assert_eq!(Field::from_name(name), Some(*field));
        }
        let height = Field::PartOf(PartKind::VelocityStack, PartDimension::Height);
        assert_eq!(Field::from_name(&height.name()), Some(height));
        assert_eq!(Field::from_name("pleat free height"), Some(Field::Of(PartDimension::PleatFreeHeight)));
    }
}
