//! Will it fit, in words: how high a stack stands, stud, hood, register.

use airshelf_flow::geometry::RegisterFit;
use airshelf_units::{Digits, Dimension, System, show, usual};

/// What to mind before a stack with a lid is run.
pub const ASSEMBLY_CAUTION: &str = "A stack that works loose can be drawn into a running engine or thrown off it: \
     see that the nut has its full thread, and turn it again after the first drive.";

/// How an answer came out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FitWord {
    /// It does.
    Fits,
    /// Barely, or not for sure.
    Close,
    /// It does not.
    DoesNotFit,
    /// Nobody knows.
    Unknown,
}

fn length(m: f64, system: System) -> String {
    show(m, usual(Dimension::Length, system), Digits::Significant(3))
}

fn listed(tags: &[String]) -> String {
    match tags {
        [] => String::new(),
        [one] => one.clone(),
        [most @ .., last] => format!("{} and {last}", most.join(", ")),
    }
}

/// How high a stack stands.
#[derive(Clone, Copy, Debug)]
pub struct Stands<'a> {
    /// What is known.
    pub stack_m: Option<f64>,
    /// Worst case of it.
    pub within_m: Option<f64>,
    /// Tags of parts without a height.
    pub without_height: &'a [String],
    /// Tags of bases without a drop.
    pub taken_as_flat: &'a [String],
    /// A person's units.
    pub system: System,
}

/// Words how high a stack stands over the register.
///
/// ```
/// use airshelf_app::sentences::{Stands, stands};
/// use airshelf_app::units::System;
/// let flat = ["BS-1".to_owned()];
/// let told = Stands { stack_m: Some(0.0762), within_m: None, without_height: &[], taken_as_flat: &flat, system: System::Us };
/// assert_eq!(stands(&told), "It stands 3.00 in over the register, if BS-1 is flat: it has no drop.");
/// ```
pub fn stands(told: &Stands) -> String {
    let Some(stack_m) = told.stack_m else {
        return match told.without_height {
            [] => "Nothing in it adds height over the register.".into(),
            tags => format!("How high it stands cannot be told: {} without a height.", listed(tags)),
        };
    };
    let within = told.within_m.map_or(String::new(), |m| {
        let unit = usual(Dimension::Length, told.system);
        format!(", give or take {}", show(m, unit, Digits::Significant(2)))
    });
    let height = length(stack_m, told.system);
    let mut text = match told.without_height {
        [] => format!("It stands {height} over the register{within}"),
        tags => {
            format!("It stands higher than {height} over the register: {} without a height", listed(tags))
        }
    };
    match told.taken_as_flat {
        [] => {}
        [one] => text += &format!(", if {one} is flat: it has no drop"),
        more => text += &format!(", if {} are flat: they have no drop", listed(more)),
    }
    text + "."
}

/// What is told of a stud.
#[derive(Clone, Debug)]
pub struct StudTold {
    /// Its tag.
    pub stud: Option<String>,
    /// Its length over the register.
    pub has_m: Option<f64>,
    /// What is needed, the nut included.
    pub needs_m: f64,
    /// The nut's share.
    pub nut_m: f64,
    /// Whether every height is known.
    pub whole: bool,
    /// How it came out.
    pub standing: FitWord,
    /// A person's units.
    pub system: System,
}

/// Words whether a stud reaches.
pub fn stud(told: &StudTold) -> String {
    let m = |m: f64| length(m, told.system);
    let needs = m(told.needs_m);
    let least = if told.whole { "" } else { "at least " };
    let Some(name) = &told.stud else {
        return format!(
            "It needs a stud of {least}{needs} over the register for a full nut; none was chosen."
        );
    };
    let Some(has_m) = told.has_m else {
        return format!("It needs a stud of {least}{needs} over the register; {name} has no length.");
    };
    let has = m(has_m);
    match told.standing {
        FitWord::Unknown => {
            format!("{name} has {has}; the stack needs {least}{needs}, and not every height is known.")
        }
        FitWord::DoesNotFit => {
            format!(
                "{name} is too short: it ends {} below the top of the lid. Needed: {needs}.",
                m(told.needs_m - told.nut_m - has_m)
            )
        }
        FitWord::Close if has_m < told.needs_m => format!(
            "{name} has {has} and a full nut needs {needs}: the nut gets {} of its {} of thread. Take a longer stud.",
            m((has_m - told.needs_m + told.nut_m).max(0.0)),
            m(told.nut_m)
        ),
        FitWord::Close => {
            format!("{name} has {has} and {needs} is needed: closer than the sizes are known. Try it.")
        }
        FitWord::Fits => format!("{name} reaches: it has {has}, {needs} is needed for a full nut."),
    }
}

/// What is told of a hood.
#[derive(Clone, Copy, Debug)]
pub struct HoodTold<'a> {
    /// The vehicle.
    pub vehicle: &'a str,
    /// What comes nearest to it: `the top of the nut`.
    pub point: &'a str,
    /// Room over that.
    pub clearance_m: f64,
    /// Wanted.
    pub wanted_m: Option<f64>,
    /// Whether every height is known.
    pub whole: bool,
    /// How it came out.
    pub standing: FitWord,
    /// A person's units.
    pub system: System,
}

/// Words whether a hood closes.
pub fn hood(told: &HoodTold) -> String {
    let m = |m: f64| length(m, told.system);
    let HoodTold { vehicle, point, clearance_m, .. } = *told;
    let wanted = told.wanted_m.map_or(String::new(), |w| format!("; {} is wanted", m(w)));
    let room = format!("{} between {point} and the hood of {vehicle}{wanted}", m(clearance_m));
    match told.standing {
        FitWord::Unknown => format!(
            "Whether it fits under the hood of {vehicle} cannot be told: not every height is known. What is known leaves {}.",
            m(clearance_m)
        ),
        FitWord::DoesNotFit => {
            format!("It hits the hood of {vehicle}: {point} stands {} too high.", m(-clearance_m))
        }
        FitWord::Close if clearance_m < told.wanted_m.unwrap_or(0.0) => {
            format!("It leaves {room}. Engines rock on their mounts: try it with clay.")
        }
        FitWord::Close => format!("It leaves {room}: closer than the sizes are known. Try it with clay."),
        FitWord::Fits => format!("It fits: {room}."),
    }
}

/// What is told of a register.
#[derive(Clone, Copy, Debug)]
pub struct RegisterTold<'a> {
    /// The part with the neck.
    pub part: &'a str,
    /// The item with the register.
    pub item: &'a str,
    /// The neck.
    pub neck_m: Option<f64>,
    /// The register.
    pub register_m: Option<f64>,
    /// How they go together.
    pub fit: Option<RegisterFit>,
    /// Looser than without an adapter.
    pub loose: bool,
    /// A person's units.
    pub system: System,
}

/// Words whether a neck sits on its register.
pub fn register(told: &RegisterTold) -> String {
    let m = |m: f64| length(m, told.system);
    let RegisterTold { part, item, .. } = *told;
    match (told.neck_m, told.register_m, told.fit) {
        (None, _, _) => format!("Whether {part} sits on {item} cannot be told: it has no neck bore."),
        (_, None, _) => format!("Whether {part} sits on {item} cannot be told: {item} has no register."),
        (Some(neck), Some(register), _) if told.loose => format!(
            "{part} is too loose on {item}: the neck is {} and the register {}. It needs an adapter.",
            m(neck),
            m(register)
        ),
        (_, _, Some(RegisterFit::Clears { least_m, greatest_m })) => {
            format!(
                "{part} goes on {item} with {} to {} to spare on the diameter.",
                m(least_m),
                m(greatest_m)
            )
        }
        (Some(neck), Some(register), Some(RegisterFit::Unsure { .. })) => format!(
            "{part} may or may not go on {item}: the neck is {} and the register {}, closer than they are known. Measure both with a caliper.",
            m(neck),
            m(register)
        ),
        (_, _, Some(RegisterFit::Interferes { least_m })) => {
            format!("{part} does not go on {item}: its neck is at least {} too small.", m(least_m))
        }
        (_, _, None) => format!("Whether {part} sits on {item} cannot be told: a size cannot be."),
    }
}
