//! Every rule about parts, assemblies, guesses and ratings, tripped once and nearly tripped once.

use crate::sheet::{PARTS, Sheet, faults, not, only, part_faults, records, told};
use airshelf_intake::audit::{Rule, Scope, audit};

fn part(row: &str, rule: Rule) {
    assert_eq!(told(&part_faults(row)), [(rule.code(), Some(10))], "{row}");
}

fn fine(row: &str) {
    assert_eq!(told(&part_faults(row)), [], "{row}");
}

#[test]
fn a_fraction_typed_as_digits_needs_a_witness() {
    part(
        "QF-9,filter,paper deep,Marl,20.00,2023-01-10,11,8,3,190,1.18,2.5,,,,unknown,new,pleats 1-1/8 deep",
        Rule::FractionMisread,
    );
    part(
        "QF-9,filter,paper deep,Marl,20.00,2023-01-10,11,8,3,190,11/8,2.5,,,,unknown,new,",
        Rule::FractionMisread,
    );
    fine("QF-9,filter,paper deep,Marl,20.00,2023-01-10,11,8,3,190,1.18,2.5,,,,unknown,new,");
    fine("QF-9,filter,paper deep,Marl,20.00,2023-01-10,11,8,3,190,9/8,2.5,,,,unknown,new,");
}

#[test]
fn a_part_in_inches_on_a_list_in_millimeters_may_have_a_fraction_typed_as_digits() {
    let sheet = |depth: &str, height: &str, note: &str| {
        format!(
            "tag;kind;OD (mm);ID (mm);height (mm);pleat count;pleat depth (mm);note\n\
             QF-8;filter;280;222;64;204;26;\nQF-9;filter;\"11\"\"\";\"8 1/2\"\"\";{height};200;{depth};{note}\n"
        )
    };
    let of = |depth: &str, height: &str, note: &str| {
        told(&audit(&records(&[("p.csv", &sheet(depth, height, note))]), &Scope::default()))
    };
    let height = "\"2 1/2\"\"\"";
    assert_eq!(of("1,18", height, "pleats 1 1/8 deep"), [("fraction-misread", Some(3))]);
    assert!(!of("1,18", height, "").contains(&("fraction-misread", Some(3))));
}

#[test]
fn a_length_that_fits_only_in_the_other_unit_is_named() {
    part("QF-9,filter,paper,Marl,20.00,2023-01-10,279,8.5,3,190,1,2.5,,,,unknown,new,", Rule::InchMm);
    part("QB-9,base,deep base,Marl,20.00,2023-01-10,11.5,,0.1,,,,3.0625,22,,,,", Rule::InchMm);
    part("QP-9,spacer,tall spacer,Marl,20.00,2023-01-10,4,,19,,,,3.0625,,,,,", Rule::InchMm);
    part("QS-9,stud,stud,,3.00,2023-01-10,,,,,,,,,165,,,", Rule::InchMm);
    fine("QF-9,filter,paper,Marl,20.00,2023-01-10,279 mm,8.5,3,190,1,2.5,,,,unknown,new,");
    fine("QP-9,spacer,tall spacer,Marl,20.00,2023-01-10,4,,2,,,,3.0625,,,,,");
}

#[test]
fn pleats_have_only_so_much_room() {
    part(
        "QF-9,filter,paper,Marl,20.00,2023-01-10,11,8.6,3,190,1.5,2.5,,,,unknown,new,",
        Rule::AreaImpossible,
    );
    part("QF-9,filter,paper,Marl,20.00,2023-01-10,11,8.6,3,1900,1,2.5,,,,unknown,new,", Rule::AreaImpossible);
    fine("QF-9,filter,paper,Marl,20.00,2023-01-10,11,8.6,3,190,1.2,2.5,,,,unknown,new,");
}

#[test]
fn a_stated_area_is_taken_over_the_free_height() {
    let sheet = |area: &str| {
        format!(
            "tag,kind,OD (in),ID (in),height (in),pleat count,pleat depth (in),pleat free height (in),media area (in2)\nQF-9,filter,11,8.6,2.25,204,0.95,1.85,{area}\n"
        )
    };
    let codes = |area: &str| told(&audit(&records(&[("p.csv", &sheet(area))]), &Scope::default()));
    assert_eq!(codes("872"), [("area-impossible", Some(2))]);
    assert_eq!(codes("717"), []);
}

#[test]
fn parts_have_limits() {
    part("QF-9,filter,paper,Marl,20.00,2023-01-10,7,7.5,3,,,,,,,unknown,new,", Rule::OutOfRange);
    part("QF-9,filter,paper,Marl,20.00,2023-01-10,11,8.6,0,,,,,,,unknown,new,", Rule::BlankAsZero);
    part("QF-9,filter,paper,Marl,160.00,2023-01-10,11,8.6,3,,,,,,,unknown,new,", Rule::Unusual);
    part("QF-9,filter,paper,Marl,-20.00,2023-01-10,11,8.6,3,,,,,,,unknown,new,", Rule::OutOfRange);
    part("QB-9,base,deep base,Marl,20.00,2023-01-10,11.5,,0.1,,,,3.0625,2.25,,,,", Rule::Unusual);
    part("QB-9,base,base,Marl,20.00,2023-01-10,11.5,,0.1,,,,3.5,,,,,", Rule::Unusual);
    fine("QB-9,base,base,Marl,20.00,2023-01-10,11.5,,0.1,,,,4-3/16,2,,,,");
}

#[test]
fn filtration_is_unknown_claimed_or_tested() {
    part(
        "QF-9,filter,paper,Marl,20.00,2023-01-10,11,8.6,3,,,,,,,99 % of everything,new,",
        Rule::FiltrationUnproven,
    );
    fine("QF-9,filter,paper,Marl,20.00,2023-01-10,11,8.6,3,,,,,,,tested: ISO 5011,new,");
    fine("QF-9,filter,paper,Marl,20.00,2023-01-10,11,8.6,3,,,,,,,claimed,new,");
}

#[test]
fn two_entries_of_one_part_are_offered_as_one() {
    part(
        "QF-9,filter,paper low,Quillet,21.00,2023-01-10,11.01,8.6,2.25,204,0.95,1.85,,,,unknown,new,",
        Rule::PartDuplicate,
    );
    fine("QF-9,filter,paper low,Quillet,21.00,2023-01-10,11.2,8.6,2.25,204,0.95,1.85,,,,unknown,new,");
    fine("QF-9,filter,paper low,Marl,21.00,2023-01-10,11.01,8.6,2.25,204,0.95,1.85,,,,unknown,new,");
}

#[test]
fn names_are_unknown_or_another_spelling() {
    only(&Sheet::clean().tests("lid", "QL1"), Rule::PartAlias, 4);
    only(&Sheet::clean().tests("lid", "ZZ-7"), Rule::PartUnknown, 4);
    not(&Sheet::clean().tests("lid", "ql-1"), Rule::PartAlias);
}

#[test]
fn a_part_that_nobody_looked_at_is_bare() {
    let bare = |row: &str| part_faults(row).iter().any(|f| f.rule == Rule::PartBare);
    assert!(bare("QV-9,stack,horn,Marl,20.00,2023-01-10,,,,,,,,,,,,"));
    assert!(!bare("QV-9,stack,horn,Marl,20.00,2023-01-10,,,2.5,,,,,,,,,"));
}

fn with(row: &str, runs: &Sheet) -> Vec<(&'static str, Option<i64>)> {
    told(&audit(
        &records(&[("parts.csv", &format!("{PARTS}{row}\n")), ("runs.csv", &runs.csv())]),
        &Scope::default(),
    ))
}

#[test]
fn a_neck_must_sit_on_its_register() {
    let runs = Sheet::clean().put(6, "base", "QB-9");
    let base =
        |neck: &str| with(&format!("QB-9,base,base,Marl,20.00,2023-01-10,11.5,,0.1,,,,{neck},,,,,"), &runs);
    assert_eq!(base("3.01"), [("cannot-assemble", Some(6))]);
    assert_eq!(base("4.1875"), [("cannot-assemble", Some(6))]);
    assert_eq!(base("3.0625"), []);
    // Fits, but loosely.
    assert_eq!(base("3.11"), [("unusual", Some(6))]);
}

#[test]
fn a_lid_must_cover_its_element() {
    let runs = Sheet::clean().put(6, "lid", "QL-9");
    assert_eq!(
        with("QL-9,lid,small lid,Marl,20.00,2023-01-10,10.5,,0.3,,,,,,,,,", &runs),
        [("cannot-assemble", Some(6))]
    );
    assert_eq!(with("QL-9,lid,small lid,Marl,20.00,2023-01-10,11,,0.3,,,,,,,,,", &runs), []);
}

#[test]
fn a_stud_must_reach_through_the_stack_unless_it_is_held_by_hand() {
    let stud = "QS-9,stud,short stud,,3.00,2023-01-10,,,,,,,,,2.5,,,";
    let runs = Sheet::clean().put(6, "stud", "QS-9");
    assert_eq!(with(stud, &runs), [("stud-short", Some(6))]);
    assert_eq!(with(stud, &runs.put(6, "restraint", "hand-held")), []);
    assert_eq!(with(&stud.replace("2.5", "2.6"), &Sheet::clean().put(6, "stud", "QS-9")), []);
}

#[test]
fn a_guess_after_the_first_reading_is_late() {
    let guesses = |written: &str| {
        format!(
            "who,base,filter,lid,flow (CFM),low (CFM),high (CFM),written\nfirst helper,QB-1,QF-1,QL-1,262,258,266,{written}\n"
        )
    };
    let codes = |written: &str| {
        let text = guesses(written);
        told(&audit(
            &records(&[("parts.csv", PARTS), ("runs.csv", &Sheet::clean().csv()), ("g.csv", &text)]),
            &Scope::default(),
        ))
    };
    assert_eq!(codes("2024-06-01 19:30"), [("late-prediction", Some(2))]);
    assert_eq!(codes("2024-06-01 18:30"), []);
}

#[test]
fn ratings_are_compared_at_one_pressure_and_only_where_they_are_placed() {
    let sheet = |places: bool| {
        let place = |n: &str| if places { n.to_owned() } else { String::new() };
        format!(
            "item,flow (CFM),rated at (inHg),place\nbig,402,3.0,{}\nsmall,371,1.5,{}\nspare,268,1.5,{}\n",
            place("1"),
            place("2"),
            place("3")
        )
    };
    let codes = |places| told(&audit(&records(&[("ratings.csv", &sheet(places))]), &Scope::default()));
    assert_eq!(codes(true), [("rating-mixed", Some(2))]);
    assert_eq!(codes(false), []);
}

#[test]
fn a_run_in_two_files_is_one_whatever_its_parts_are_called() {
    let spelled = |sheet: &str| sheet.replace("QF-1", "low one").replace("QF-2", "tall one");
    let twice = |again: &str| {
        let sheet = Sheet::clean().csv();
        let all = records(&[("parts.csv", PARTS), ("runs.csv", &sheet), ("again.csv", again)]);
        audit(&all, &Scope::default())
            .iter()
            .filter(|f| f.rule == Rule::DuplicateRow && f.place.file.as_deref() == Some("again.csv"))
            .filter_map(|f| f.place.row)
            .collect::<Vec<_>>()
    };
    let again = spelled(&Sheet::clean().csv());
    assert_eq!(twice(&again), (2..=11).collect::<Vec<_>>());
    // Another digit, or a part that the shelf knows as another one, is another run.
    assert_eq!(twice(&again.replace("266.1", "265.1")), [2, 3, 4, 6, 7, 8, 9, 10, 11]);
    let other = Sheet::clean().put(6, "filter", "QF-3").csv();
    assert_eq!(twice(&other), [2, 3, 4, 5, 7, 8, 9, 10, 11]);
}

#[test]
fn a_date_that_nothing_decides_is_ambiguous() {
    let runs = |date: &str| {
        let text = Sheet::clean().csv().replace("2024-06-01", date);
        told(&audit(&records(&[("parts.csv", PARTS), ("runs.csv", &text)]), &Scope::default()))
    };
    assert!(runs("6/5/2024").contains(&("date-ambiguous", Some(2))));
    assert!(runs("6/15/2024").iter().all(|(rule, _)| *rule != "date-ambiguous"));
}

#[test]
fn a_matrix_shows_its_zero_and_its_wrong_sign() {
    let sheet = "\"Loss table, CFM, mean of three readings each, everything fastened\"
\"Shed, 2024-01-27; paper new; 68 F, 29.40 inHg, 45 % RH; range 300 CFM\"
20 inH2O; baseline bare 277.3 before and 277.1 after

flat base: lid \\ filter,paper 10x2.25,paper 11x2.25,paper 11x3
solid,20.9,17.0,13.9
domed,19.6,-15.6,0
vented,18.6,14.8,11.6
";
    let found = audit(&records(&[("matrix.csv", sheet)]), &Scope::default());
    let codes = told(&found);
    assert_eq!(codes, [("sign-mixed", Some(7)), ("blank-as-zero", Some(7))]);
}

#[test]
fn the_evening_of_the_parts_is_clean() {
    assert_eq!(told(&faults(&Sheet::clean())), []);
}

#[test]
fn paint_makes_no_other_part() {
    part(
        "QL-9,lid,\"solid lid, painted red\",Ostrel,18.00,2023-01-10,11.5,,0.3,,,,,,,,,",
        Rule::PartDuplicate,
    );
    fine("QL-9,lid,\"ribbed lid, painted red\",Ostrel,18.00,2023-01-10,11.5,,0.3,,,,,,,,,");
}
