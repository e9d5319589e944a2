//! Every entity of a shelf with its numbered fields.
//!
//! All fields are optional: a blank is a blank, and a later step's field is never demanded by an earlier one.
//! Numbers are never reused. Adding a field means taking the next number and adding the column in a migration.

use crate::enums::*;
use crate::quantity::{Price, Quantity};
use crate::value::{Entity, FieldDef, FieldKind, Held, Value, ValueError, ValueRef};
use airshelf_units::Dimension;
use uuid::Uuid;

macro_rules! held_type {
    (text) => { Option<String> };
    (civil) => { Option<String> };
    (int) => { Option<i64> };
    (real) => { Option<f64> };
    (flag) => { Option<bool> };
    (bytes) => { Option<Vec<u8>> };
    (price) => { Option<Price> };
    (quantity $($d:ident)?) => { Option<Quantity> };
    (link $($k:ident)?) => { Option<Uuid> };
    (one_of $e:ident) => { Option<$e> };
}

macro_rules! field_kind {
    (text) => {
        FieldKind::Text
    };
    (civil) => {
        FieldKind::Civil
    };
    (int) => {
        FieldKind::Int
    };
    (real) => {
        FieldKind::Real
    };
    (flag) => {
        FieldKind::Flag
    };
    (bytes) => {
        FieldKind::Bytes
    };
    (price) => {
        FieldKind::Price
    };
    (quantity $d:ident) => {
        FieldKind::Quantity(Dimension::$d)
    };
    (quantity) => {
        FieldKind::AnyQuantity
    };
    (link $k:ident) => {
        FieldKind::Link(EntityKind::$k)
    };
    (link) => {
        FieldKind::LinkAny
    };
    (one_of $e:ident) => {
        FieldKind::OneOf($e::CODES)
    };
}

macro_rules! entities {
    ($( $(#[$meta:meta])* $number:literal $entity:ident $table:literal {
        $( $(#[$fmeta:meta])* $fnumber:literal $field:ident [$($kind:tt)+], )*
    } )+) => {
        /// The entities of a shelf.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
        #[repr(u8)]
        pub enum EntityKind { $( $(#[$meta])* $entity = $number, )+ }

        impl EntityKind {
            /// Every entity, in the order of their numbers.
            pub const ALL: &'static [EntityKind] = &[ $( EntityKind::$entity, )+ ];
            /// The number that stands for the entity in changes.
            pub fn number(self) -> u8 { self as u8 }
            /// The entity of a number, if this program knows it.
            pub fn from_number(number: u8) -> Option<Self> { match number { $( $number => Some(EntityKind::$entity), )+ _ => None } }
            /// The name of its table.
            pub fn table(self) -> &'static str { match self { $( EntityKind::$entity => $table, )+ } }
            /// Its fields.
            pub fn fields(self) -> &'static [FieldDef] { match self { $( EntityKind::$entity => <$entity as Entity>::FIELDS, )+ } }
        }

        $(
            $(#[$meta])*
            #[derive(Clone, Debug, Default, PartialEq)]
            pub struct $entity {
                /// The row's identifier.
                pub id: Uuid,
                $( $(#[$fmeta])* pub $field: held_type!($($kind)+), )*
            }

            impl Entity for $entity {
                const KIND: EntityKind = EntityKind::$entity;
                const FIELDS: &'static [FieldDef] = &[
                    $( FieldDef { number: $fnumber, name: stringify!($field), kind: field_kind!($($kind)+) }, )*
                ];
                fn id(&self) -> Uuid { self.id }
                fn set_id(&mut self, id: Uuid) { self.id = id; }
                fn value(&self, index: usize) -> ValueRef<'_> {
                    let number = Self::FIELDS[index].number;
                    match number { $( $fnumber => self.$field.hold(), )* _ => ValueRef::Null }
                }
                fn set(&mut self, number: u16, value: Value) -> Result<(), ValueError> {
                    match number {
                        $( $fnumber => { self.$field = Held::take(value, stringify!($field))?; Ok(()) } )*
                        _ => Err(ValueError::UnknownField { entity: $table, number }),
                    }
                }
            }
        )+
    };
}

entities! {
    /// Somebody who measures, guesses or decides.
    1 Person "person" {
        /// The name as people say it.
        1 name [text],
    }
    /// A thing with a tag.
    2 Part "part" {
        /// The tag on it; unique by intention, not by force.
        1 tag [text],
        /// What it is.
        2 kind [one_of PartKind],
        /// What people call it.
        3 name [text],
        /// Who made it.
        4 maker [text],
        /// What was paid.
        5 price [price],
        /// When it arrived.
        6 arrived [civil],
        /// Whose it is.
        7 status [one_of PartStatus],
        /// Where it lies.
        8 place [text],
        /// What shape it is in.
        9 condition [text],
        /// What is claimed of its filtration: `unknown`, `claimed`, or `tested: <standard>`.
        10 filtration [text],
        /// The state it arrived in.
        11 service [one_of Service],
        /// Anything else.
        12 note [text],
        /// The tag of the revision it stands at, where a sheet says so (`B`).
        13 revision_label [text],
        /// When that revision was made.
        14 revised [civil],
        /// The dimensions' source as the sheet states it.
        15 source_note [text],
        /// A photo's file name as the sheet states it.
        16 photo_note [text],
        /// True for a part that only a run names; the shelf has no entry of its own for it.
        17 only_named [flag],
        /// The table it was imported from.
        18 table [link SheetTable],
        /// The file's own row.
        19 row [int],
    }
    /// A part after a change; the first revision comes with the part.
    3 Revision "revision" {
        /// The part.
        1 part [link Part],
        /// Its letter or name; none for the first.
        2 label [text],
        /// The revision it was made from.
        3 previous [link Revision],
        /// What was changed.
        4 change [text],
        /// When.
        5 revised [civil],
    }
    /// One dimension of a revision, with where it comes from.
    4 Measurement "measurement" {
        /// The revision measured.
        1 revision [link Revision],
        /// Which dimension.
        2 dimension [one_of PartDimension],
        /// The value; its quantity says whether it was measured, stated or estimated.
        3 value [quantity],
        /// The table it was imported from.
        4 table [link SheetTable],
        /// The file's own row.
        5 row [int],
        /// The file's own column, counted from 0.
        6 column [int],
    }
    /// Another spelling of a part.
    5 Alias "alias" {
        /// The spelling.
        1 spelling [text],
        /// The part it means.
        2 part [link Part],
    }
    /// A photo, kept by the hash of what is stored.
    6 Photo "photo" {
        /// SHA-256 of the stored bytes.
        1 sha256 [bytes],
        /// What it belongs to.
        2 subject [link],
        /// What it shows.
        3 role [one_of PhotoRole],
        /// EXIF orientation, 1 to 8.
        4 orientation [int],
        /// When it was taken, as the camera wrote it.
        5 taken [civil],
        /// The file's name when it came in.
        6 file_name [text],
        /// Size in bytes.
        7 size_bytes [int],
        /// Anything else.
        8 note [text],
        /// Points marked on it, as JSON; one field.
        9 points [text],
    }
    /// An offer seen somewhere.
    7 Listing "listing" {
        /// The part offered.
        1 part [link Part],
        /// Who offers it.
        2 seller [text],
        /// The price.
        3 price [price],
        /// When it was seen.
        4 seen [civil],
        /// Anything else.
        5 note [text],
    }
    /// An ordered set of revisions; insert-only, its id is a hash of its layers.
    8 Assembly "assembly" {
        /// The layers from the item up, packed by [`crate::ids::pack_layers`].
        1 layers [bytes],
        /// The name people give it.
        2 name [text],
        /// Anything else.
        3 note [text],
    }
    /// A flow bench.
    9 Bench "bench" {
        /// Its name.
        1 name [text],
        /// What its meter measures; none: unknown, and no flow at reference air.
        2 meter [one_of Meter],
        /// The bench factor from check plates.
        3 factor [real],
        /// Standard uncertainty of the factor.
        4 factor_uncertainty [real],
        /// Anything else.
        5 note [text],
    }
    /// One range of a bench.
    10 BenchRange "bench_range" {
        /// The bench.
        1 bench [link Bench],
        /// Its full scale.
        2 full_scale [quantity Flow],
        /// The smallest step the meter shows.
        3 step [quantity Flow],
        /// The repeatability its owner states, as a ratio of flow.
        4 stated_scatter [quantity Ratio],
        /// Diameter of its plate, where it is an orifice.
        5 plate_diameter [quantity Length],
        /// Discharge coefficient of its plate.
        6 plate_coefficient [real],
    }
    /// An evening at the bench, or a page of one.
    11 Session "session" {
        /// The name on its sheet.
        1 name [text],
        /// The civil date.
        2 date [civil],
        /// The bench.
        3 bench [link Bench],
        /// The item on it, where the whole session has one.
        4 item [link Revision],
        /// The set pressure, where the page states one.
        5 set_pressure [quantity Pressure],
        /// The range, where the page states one.
        6 range [link BenchRange],
        /// Air temperature, where the page states one.
        7 air_temperature [quantity Temperature],
        /// Station pressure, where the page states one.
        8 barometer [quantity Pressure],
        /// Relative humidity, where the page states one.
        9 humidity [quantity Ratio],
        /// The baseline the page states.
        10 stated_baseline [quantity Flow],
        /// What that baseline consists of.
        11 stated_baseline_kind [one_of BaselineKind],
        /// Who measured.
        12 person [link Person],
        /// When it was closed for verdicts, if it was; imported sessions are closed.
        13 closed [civil],
        /// The difference that does not matter, as a ratio, stated before looking.
        14 dont_care [quantity Ratio],
        /// Anything else.
        15 note [text],
        /// True for a list or table without run order.
        16 unordered [flag],
        /// The first table it was imported from.
        17 table [link SheetTable],
        /// The state of every element, where the page states it once (`new`, or text such as `paper new, foam oiled`).
        18 service_note [text],
        /// How everything was held, where the page states it once.
        19 restraint [one_of Restraint],
        /// Readings behind each number, where the page states it once.
        20 readings_each [int],
    }
    /// One assembly, or the bare item, at one set pressure.
    12 Run "run" {
        /// The session.
        1 session [link Session],
        /// The number in the session's order.
        2 order_number [int],
        /// Why it was made.
        3 purpose [one_of Purpose],
        /// The assembly; none for the bare item and the blanked fixture.
        4 assembly [link Assembly],
        /// The item on the bench; none when blanked.
        5 item [link Revision],
        /// The bench range in use.
        6 range [link BenchRange],
        /// Which way the air went.
        7 direction [one_of Direction],
        /// The set pressure.
        8 set_pressure [quantity Pressure],
        /// How the assembly was held.
        9 restraint [one_of Restraint],
        /// The state of its element.
        10 service [one_of Service],
        /// The stud that held it.
        11 stud [link Revision],
        /// Whether it was refitted before this run.
        12 refit [one_of Refit],
        /// For a baseline: what it consists of.
        13 baseline_kind [one_of BaselineKind],
        /// Anything else.
        14 note [text],
        /// A photo's file name as the sheet states it.
        15 photo_note [text],
        /// The table it was imported from.
        16 table [link SheetTable],
        /// The file's own row.
        17 row [int],
        /// The file's own column, for a cell of a matrix.
        18 column [int],
        /// The civil date of the run, where it differs from its session's.
        19 date [civil],
    }
    /// What the meter showed; append-only, struck out rather than edited.
    13 Reading "reading" {
        /// The run.
        1 run [link Run],
        /// The flow as read.
        2 flow [quantity Flow],
        /// The test pressure that was held; none is taken as set.
        3 actual_pressure [quantity Pressure],
        /// Air temperature at the part.
        4 air_temperature [quantity Temperature],
        /// Station pressure.
        5 barometer [quantity Pressure],
        /// Relative humidity.
        6 humidity [quantity Ratio],
        /// Air temperature at the meter.
        7 meter_temperature [quantity Temperature],
        /// The civil clock, as written (`18:40`, `6:40 PM` becomes `18:40`).
        8 clock [text],
        /// Why it was struck out; a struck reading is kept and never used.
        9 struck [text],
        /// The reading that this one repairs.
        10 repairs [link Reading],
    }
    /// What a page claims beside a reading: corrected flows, losses, places.
    14 Claim "claim" {
        /// The run.
        1 run [link Run],
        /// The baseline written beside it.
        2 stated_baseline [quantity Flow],
        /// The loss as a flow.
        3 stated_loss [quantity Flow],
        /// The loss in percent.
        4 stated_loss_percent [quantity Ratio],
        /// The leakage written beside it.
        5 leakage [quantity Flow],
        /// The flow less leakage.
        6 net_flow [quantity Flow],
        /// The flow brought to the set pressure.
        7 flow_at_set_pressure [quantity Flow],
        /// The flow brought to reference air.
        8 flow_at_reference_air [quantity Flow],
        /// The factor used for that.
        9 air_factor [real],
        /// The place given to it.
        10 place [int],
        /// How many readings stand behind the number.
        11 readings [int],
        /// The session whose baseline it was taken against, where another is named.
        12 baseline_session [text],
    }
    /// A rated flow of a carburetor.
    15 Rating "rating" {
        /// The item as the page names it.
        1 item [text],
        /// The rated flow.
        2 flow [quantity Flow],
        /// The pressure it is rated at.
        3 rated_at [quantity Pressure],
        /// The place given to it.
        4 place [int],
        /// The difference from the first as the page states it.
        5 against_first [quantity Flow],
        /// Anything else.
        6 note [text],
        /// The table it was imported from.
        7 table [link SheetTable],
        /// The file's own row.
        8 row [int],
    }
    /// A guess, sealed before the first reading.
    16 Prediction "prediction" {
        /// Who guessed.
        1 person [link Person],
        /// The assembly guessed for.
        2 assembly [link Assembly],
        /// The session guessed for.
        3 session [link Session],
        /// The guessed flow.
        4 flow [quantity Flow],
        /// The guessed loss.
        5 loss [quantity Flow],
        /// The guessed place.
        6 place [int],
        /// Low end of the guess, in the terms of the guess.
        7 low [quantity Flow],
        /// High end of the guess.
        8 high [quantity Flow],
        /// When it was written, civil.
        9 written [civil],
        /// When it was sealed, civil.
        10 sealed [civil],
        /// Anything else.
        11 note [text],
        /// The table it was imported from.
        12 table [link SheetTable],
        /// The file's own row.
        13 row [int],
        /// The text that names the session guessed for, where no session matches.
        14 session_note [text],
    }
    /// Something that happened to a part in use; not a revision.
    17 ServiceEvent "service_event" {
        /// The revision.
        1 revision [link Revision],
        /// What happened.
        2 kind [one_of ServiceKind],
        /// When.
        3 date [civil],
        /// Nights of running since the event before.
        4 nights [int],
        /// The vehicle, where there was one.
        5 vehicle [link Vehicle],
        /// Anything else.
        6 note [text],
    }
    /// An engine that breathes through assemblies.
    18 Engine "engine" {
        /// Its name.
        1 name [text],
        /// Displacement.
        2 displacement [quantity Volume],
        /// Volumetric efficiency referred to the plenum.
        3 volumetric_efficiency [quantity Ratio],
        /// The speed of interest.
        4 speed [quantity RotationalSpeed],
        /// Highest speed.
        5 highest_speed [quantity RotationalSpeed],
        /// Anything else.
        6 note [text],
    }
    /// A vehicle with a hood.
    19 Vehicle "vehicle" {
        /// Its name.
        1 name [text],
        /// Height from the carburetor's register to the hood.
        2 hood_height [quantity Length],
        /// The clearance wanted.
        3 wanted_clearance [quantity Length],
        /// Its engine.
        4 engine [link Engine],
        /// Anything else.
        5 note [text],
    }
    /// What a person decided.
    20 Decision "decision" {
        /// What it is about.
        1 subject [link],
        /// What was decided.
        2 kind [one_of DecisionKind],
        /// For an audit's fault: the rule.
        3 rule [text],
        /// Why.
        4 reason [text],
        /// When, civil.
        5 date [civil],
        /// Who.
        6 person [link Person],
        /// For *same part*: the other part.
        7 other [link],
    }
    /// A file of old records.
    21 ImportFile "import_file" {
        /// Its name without folders.
        1 name [text],
        /// SHA-256 of its bytes; the original is kept as a blob under it.
        2 sha256 [bytes],
        /// Size in bytes.
        3 size_bytes [int],
        /// `csv`, `xlsx` or `ods`.
        4 format [text],
        /// Encoding, for text.
        5 encoding [text],
        /// Delimiter, for text.
        6 delimiter [text],
        /// How many changes its import made in all; fewer present means that it has not all arrived.
        7 changes [int],
        /// True once a person took the import back; its rows are then hidden.
        8 undone [flag],
        /// When it was imported, with offset.
        9 imported [civil],
        /// What a person said of its columns, as `airshelf_intake::map::Mapping` is written in JSON.
        10 mapping [text],
    }
    /// A table on a sheet of an imported file.
    22 SheetTable "sheet_table" {
        /// The file.
        1 file [link ImportFile],
        /// The sheet's name; none in text files.
        2 sheet [text],
        /// What it holds.
        3 kind [one_of TableKind],
        /// The file's own row of its header.
        4 header_row [int],
        /// The file's own row of its first row of data.
        5 first_row [int],
        /// The layout in words.
        6 layout [text],
        /// Its columns as JSON: `[{"column":0,"header":"flow (CFM)","field":"flow","unit":"CFM","confidence":1.0}]`.
        7 columns [text],
        /// What stands above it and holds for its rows, as JSON.
        8 page [text],
        /// `.` or `,`.
        9 decimal [text],
        /// The file's own row of its last row of data.
        10 last_row [int],
    }
    /// Raw text of imported rows, compressed, several hundred rows together.
    23 SheetRows "sheet_rows" {
        /// The table.
        1 table [link SheetTable],
        /// The first row's number in the file.
        2 first_row [int],
        /// The rows, LZ4-compressed; `airshelf_intake::stage::unpack_rows` reads them.
        3 packed [bytes],
    }
    /// A further place in an imported file that says the same as a record.
    24 AlsoAt "also_at" {
        /// The record.
        1 record [link],
        /// The table.
        2 table [link SheetTable],
        /// The file's own row.
        3 row [int],
        /// The file's own column, for a cell of a matrix.
        4 column [int],
    }
    /// A row that could not be taken, with its reason; it can be repaired there.
    25 Quarantined "quarantined" {
        /// The table.
        1 table [link SheetTable],
        /// The file's own row.
        2 row [int],
        /// The row's text.
        3 raw [text],
        /// Why it was not taken.
        4 reason [text],
        /// The column at fault, counted from 0.
        5 column [int],
        /// What became of it: the record made from it.
        6 repaired [link],
        /// The cells as a person corrected them, as JSON: `[{"column":8,"text":"246.1"}]`.
        7 mended [text],
    }
}
