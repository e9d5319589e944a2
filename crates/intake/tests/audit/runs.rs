//! Every rule about runs, tripped once and nearly tripped once.

use crate::sheet::{PARTS, Sheet, faults, not, only, records, told};
use airshelf_catalog::limits::Limits;
use airshelf_catalog::{Decision, DecisionKind, Uuid};
use airshelf_intake::audit::{Rule, Scope, Severity, audit, audit_run, blocking, sentence};

#[test]
fn a_clean_evening_has_no_fault() {
    assert_eq!(told(&faults(&Sheet::clean())), []);
}

#[test]
fn a_run_without_pressure_keeps_its_percent_loss_and_nothing_else() {
    let sheet = Sheet::clean().put(6, "set pressure", "").put(6, "actual pressure", "");
    let fault = only(&sheet, Rule::PressureMissing, 6);
    assert!(!fault.reach().comparison && fault.reach().pressure);
    not(&Sheet::clean().put(6, "actual pressure", ""), Rule::PressureMissing);
}

#[test]
fn another_pressure_is_mixed_and_another_unit_is_named() {
    only(
        &Sheet::clean()
            .put(6, "set pressure", "12")
            .put(6, "actual pressure", "12.02")
            .put(6, "flow", "201.6"),
        Rule::PressureMixed,
        6,
    );
    let unit = only(
        &Sheet::clean().put(6, "set pressure", "1.47").put(6, "actual pressure", "1.47"),
        Rule::PressureUnit,
        6,
    );
    assert_eq!(sentence::repair(&unit).unwrap(), "1.47 inHg = 19.98 inH2O");
    not(
        &Sheet::clean().put(6, "purpose", "sweep").put(6, "set pressure", "12").put(
            6,
            "actual pressure",
            "12.02",
        ),
        Rule::PressureMixed,
    );
}

#[test]
fn off_pressure_begins_beyond_one_percent() {
    only(&Sheet::clean().put(6, "actual pressure", "19.75"), Rule::OffPressure, 6);
    not(&Sheet::clean().put(6, "actual pressure", "19.80"), Rule::OffPressure);
}

#[test]
fn a_flow_above_the_range_offers_the_misread_digit() {
    let fault = only(&Sheet::clean().put(6, "flow", "360.1"), Rule::OverRange, 6);
    assert_eq!(sentence::repair(&fault).unwrap(), "260.1 CFM: one digit read wrong; else check the range");
    let near = Sheet::clean().put(3, "range", "292");
    assert_eq!(told(&faults(&near)), [("near-range", Some(3)), ("range-mixed", Some(3))]);
    not(&Sheet::clean().put(3, "range", "294"), Rule::NearRange);
    // A run without a range was on the evening's only one.
    only(&Sheet::clean().put(6, "range", "").put(6, "flow", "360.1"), Rule::OverRange, 6);
    not(&Sheet::clean().put(6, "range", "").put(3, "range", "600").put(6, "flow", "360.1"), Rule::OverRange);
}

#[test]
fn a_run_needs_a_baseline_on_either_side() {
    only(&Sheet::clean().without(11), Rule::Unbracketed, 9);
    only(&Sheet::clean().without(3), Rule::Unbracketed, 3);
    not(&Sheet::clean().without(8), Rule::Unbracketed);
}

#[test]
fn baselines_drift_from_half_a_percent_and_block_from_one_and_a_half() {
    let warn = Sheet::clean().put(11, "flow", "280.4");
    assert_eq!(only(&warn, Rule::BaselineDrift, 11).severity, Severity::Warn);
    let block = Sheet::clean().put(11, "flow", "283.9");
    let fault = faults(&block).into_iter().find(|f| f.rule == Rule::BaselineDrift).unwrap();
    assert_eq!(fault.severity, Severity::Block);
    not(&Sheet::clean().put(11, "flow", "279.2"), Rule::BaselineDrift);
}

#[test]
fn a_question_mark_for_a_base_is_an_undefined_baseline() {
    only(&Sheet::clean().put(8, "base", "?"), Rule::BaselineUndefined, 8);
    not(&Sheet::clean().put(8, "base", "bare"), Rule::BaselineUndefined);
}

fn with_losses() -> Sheet {
    [(4, "18.1"), (5, "12.3"), (6, "18.3"), (7, "12.0"), (9, "18.2"), (10, "12.1")].into_iter().fold(
        Sheet::clean().tests("stated baseline", "278.4"),
        |s, (row, loss)| {
            let flow: f64 = 278.4 - loss.parse::<f64>().unwrap();
            s.put(row, "stated loss", loss).put(row, "flow", &format!("{flow:.1}"))
        },
    )
}

#[test]
fn flow_and_loss_make_the_baseline() {
    assert_eq!(told(&faults(&with_losses())), []);
    only(&with_losses().put(6, "stated loss", "13.3"), Rule::LossArithmetic, 6);
    not(&with_losses().put(6, "stated loss", "18.4"), Rule::LossArithmetic);
}

#[test]
fn one_sign_against_the_others_is_mixed_and_all_negative_is_a_custom() {
    let fault = only(&with_losses().put(6, "stated loss", "-18.3"), Rule::SignMixed, 6);
    assert_eq!(sentence::repair(&fault).unwrap(), "18.3 CFM");
    let custom = [(4, "-18.1"), (5, "-12.3"), (6, "-18.3"), (7, "-12.0"), (9, "-18.2"), (10, "-12.1")]
        .into_iter()
        .fold(with_losses(), |s, (row, loss)| s.put(row, "stated loss", loss));
    not(&custom, Rule::SignMixed);
}

#[test]
fn a_percentage_in_a_column_of_flows_is_named() {
    only(&with_losses().put(6, "stated loss", "6.6"), Rule::PercentAsFlow, 6);
    not(&with_losses().put(6, "stated loss", "9.6"), Rule::PercentAsFlow);
}

fn with_leakage() -> Sheet {
    let flows = [
        (3, 278.4),
        (4, 260.4),
        (5, 266.1),
        (6, 260.1),
        (7, 266.5),
        (8, 278.6),
        (9, 260.2),
        (10, 266.4),
        (11, 278.3),
    ];
    flows.into_iter().fold(Sheet::clean(), |s, (row, flow)| {
        s.put(row, "leakage", "1.2").put(row, "net flow", &format!("{:.1}", flow - 1.2))
    })
}

#[test]
fn closed_throttle_leakage_is_never_fixture_leakage() {
    let throttle = with_leakage()
        .put(11, "purpose", "closed-throttle leakage")
        .put(11, "range", "10")
        .put(11, "flow", "5.1")
        .put(11, "leakage", "")
        .put(11, "net flow", "")
        .put(6, "leakage", "5.1")
        .put(6, "net flow", "255.0");
    let found = faults(&throttle);
    assert!(told(&found).contains(&("throttle-leak-subtracted", Some(6))), "{:?}", told(&found));
    not(&with_leakage(), Rule::ThrottleLeakSubtracted);
}

#[test]
fn leakage_needs_the_pressure_of_the_runs() {
    only(&Sheet::clean().put(2, "set pressure", "").put(2, "actual pressure", ""), Rule::LeakPressure, 2);
    only(
        &Sheet::clean().put(2, "set pressure", "28").put(2, "actual pressure", "28.02"),
        Rule::LeakPressure,
        2,
    );
    not(&Sheet::clean().put(2, "actual pressure", "20.20"), Rule::LeakPressure);
}

#[test]
fn leakage_comes_off_both_sides() {
    let one = [3, 8, 11]
        .into_iter()
        .fold(with_leakage(), |s, row| s.put(row, "leakage", "").put(row, "net flow", ""));
    only(&one, Rule::LeakOneSided, 3);
    not(&with_leakage(), Rule::LeakOneSided);
}

#[test]
fn a_correction_goes_in_once() {
    let once = Sheet::clean().put(6, "actual pressure", "19.86").put(6, "flow", "259.2");
    // (20/19.86)^½ = 1.003519.
    only(&once.clone().put(6, "flow at set pressure", "261.0"), Rule::DoubleCorrection, 6);
    not(&once.put(6, "flow at set pressure", "260.1"), Rule::DoubleCorrection);
}

#[test]
fn only_what_was_held_has_a_place() {
    only(&Sheet::clean().put(6, "restraint", "hand-held").put(6, "place", "2"), Rule::Unrestrained, 6);
    not(&Sheet::clean().put(6, "restraint", "hand-held"), Rule::Unrestrained);
    let taped = Sheet::clean().tests("restraint", "taped").tests("place", "1");
    assert!(faults(&taped).iter().any(|f| f.rule == Rule::Unrestrained));
    not(&taped.tests("refit", "yes"), Rule::Unrestrained);
}

#[test]
fn a_claim_needs_more_than_one_reading() {
    let once = Sheet::clean().put(6, "filter", "QF-3").put(6, "flow", "255.4");
    only(&once.put(6, "note", "worse than the big one by 5"), Rule::SingleReading, 6);
    not(&Sheet::clean().put(6, "note", "worse than the big one by 6"), Rule::SingleReading);
}

#[test]
fn a_run_cannot_be_older_than_its_part() {
    let late = PARTS.replace(
        "QF-1,filter,paper low,Quillet,20.00,2023-01-10",
        "QF-1,filter,paper low,Quillet,20.00,2024-06-02",
    );
    let all = records(&[("parts.csv", &late), ("runs.csv", &Sheet::clean().csv())]);
    let found = audit(&all, &Scope::default());
    assert_eq!(
        told(&found),
        [("before-arrival", Some(4)), ("before-arrival", Some(6)), ("before-arrival", Some(9))]
    );
    let same_day = late.replace("2024-06-02", "2024-06-01");
    let all = records(&[("parts.csv", &same_day), ("runs.csv", &Sheet::clean().csv())]);
    assert_eq!(told(&audit(&all, &Scope::default())), []);
}

#[test]
fn only_runs_of_a_revision_are_older_than_it() {
    let parts = |label: &str| {
        PARTS.replace("service,note\n", "service,note,revision,revised\n").replace(
            "2.25,204,0.95,1.85,,,,unknown,new,\n",
            &format!("2.25,204,0.95,1.85,,,,unknown,new,,{label},2024-06-02\n"),
        )
    };
    let told_of = |label: &str, runs: &Sheet| {
        told(&audit(&records(&[("parts.csv", &parts(label)), ("runs.csv", &runs.csv())]), &Scope::default()))
    };
    let of_b = Sheet::clean().put(4, "filter", "QF-1 rev B");
    let before = |row| ("before-arrival", Some(row));
    assert_eq!(told_of("B", &Sheet::clean()), []);
    assert_eq!(told_of("B", &of_b), [before(4)]);
    assert_eq!(told_of("", &Sheet::clean()), [before(4), before(6), before(9)]);
    // A date that does not say of which revision, where there are two.
    assert_eq!(told_of("", &of_b), []);
}

#[test]
fn more_area_that_flows_less_is_looked_at() {
    let less = [(5, "255.9"), (7, "256.4"), (10, "256.1")]
        .into_iter()
        .fold(Sheet::clean(), |s, (r, f)| s.put(r, "flow", f));
    only(&less, Rule::BiggerFlowsLess, 5);
    not(&Sheet::clean(), Rule::BiggerFlowsLess);
    let other_media = PARTS.replace("QF-2,filter,paper tall,Quillet", "QF-2,filter,foam tall,Quillet");
    let all = records(&[("parts.csv", &other_media), ("runs.csv", &less.csv())]);
    assert_eq!(told(&audit(&all, &Scope::default())), []);
}

#[test]
fn flow_that_follows_the_order_is_a_trend_unless_the_baselines_follow_too() {
    let flows = [(4, "260.4"), (5, "260.2"), (6, "259.4"), (7, "259.3"), (9, "258.5"), (10, "257.9")];
    let falling = flows.into_iter().fold(Sheet::clean().all("actual pressure", "20.00"), |s, (row, flow)| {
        s.put(row, "filter", "QF-1").put(row, "flow", flow)
    });
    only(&falling, Rule::OrderTrend, 10);
    not(&falling.put(8, "flow", "276.9").put(11, "flow", "275.2"), Rule::OrderTrend);
}

#[test]
fn exhaust_is_the_wrong_direction_for_an_intake_part() {
    only(&Sheet::clean().put(6, "direction", "exhaust"), Rule::WrongDirection, 6);
    not(&Sheet::clean().put(6, "direction", ""), Rule::WrongDirection);
}

#[test]
fn the_state_of_an_element_is_stated() {
    only(&Sheet::clean().put(6, "service", ""), Rule::ServiceStateMissing, 6);
    not(&Sheet::clean().put(6, "service", "dirty"), Rule::ServiceStateMissing);
}

#[test]
fn missing_air_is_told_once_for_a_page() {
    only(&Sheet::clean().put(6, "barometer", ""), Rule::AmbientMissing, 6);
    let fault = only(&Sheet::clean().all("humidity", ""), Rule::AmbientMissing, 2);
    assert_eq!(fault.rows.len(), 9);
}

#[test]
fn a_zero_among_readings_is_a_blank() {
    only(&Sheet::clean().put(6, "barometer", "0"), Rule::BlankAsZero, 6);
    only(&Sheet::clean().put(6, "humidity", "0"), Rule::BlankAsZero, 6);
    not(&Sheet::clean().put(2, "flow", "0"), Rule::BlankAsZero);
}

#[test]
fn limits_are_impossible_or_unusual() {
    let slipped = only(&Sheet::clean().put(6, "barometer", "2.93"), Rule::OutOfRange, 6);
    assert_eq!(sentence::repair(&slipped).unwrap(), "29.3 inHg");
    only(&Sheet::clean().put(6, "humidity", "150"), Rule::OutOfRange, 6);
    only(&Sheet::clean().put(6, "humidity", "94"), Rule::Unusual, 6);
    only(&Sheet::clean().put(2, "range", "10").put(2, "flow", "6.1"), Rule::Unusual, 2);
    not(&Sheet::clean().put(6, "humidity", "88"), Rule::Unusual);
}

#[test]
fn ranges_and_items_are_not_compared_across() {
    only(&Sheet::clean().put(6, "range", "600"), Rule::RangeMixed, 6);
    let item = faults(&Sheet::clean().put(6, "item", "CA-9"));
    assert!(told(&item).contains(&("item-mixed", Some(6))));
    not(&Sheet::clean(), Rule::ItemMixed);
}

#[test]
fn a_loss_is_taken_against_its_own_session() {
    let foreign = with_losses().tests("stated baseline", "285.4");
    let other = Sheet::clean()
        .csv()
        .replace("QS-0601", "QS-0608")
        .replace("2024-06-01", "2024-06-08")
        .replace("278.", "285.");
    let all = records(&[("parts.csv", PARTS), ("runs.csv", &foreign.csv()), ("other.csv", &other)]);
    assert!(audit(&all, &Scope::default()).iter().any(|f| f.rule == Rule::BaselineForeign));
    let all = records(&[("parts.csv", PARTS), ("runs.csv", &with_losses().csv()), ("other.csv", &other)]);
    assert!(audit(&all, &Scope::default()).iter().all(|f| f.rule != Rule::BaselineForeign));
}

#[test]
fn what_a_person_let_stand_is_not_told_again() {
    let mut all =
        records(&[("parts.csv", PARTS), ("runs.csv", &Sheet::clean().put(6, "humidity", "94").csv())]);
    let subject = audit(&all, &Scope::default())[0].subject;
    all.decisions.push(Decision {
        id: Uuid::from_u128(7),
        subject: Some(subject),
        kind: Some(DecisionKind::LetStand),
        rule: Some("unusual".into()),
        ..Decision::default()
    });
    assert_eq!(told(&audit(&all, &Scope::default())), []);
}

#[test]
fn one_new_run_is_judged_in_its_session() {
    let all = records(&[
        ("parts.csv", PARTS),
        ("runs.csv", &Sheet::clean().put(6, "flow", "360.1").put(7, "service", "").csv()),
    ]);
    let run = all.runs.iter().find(|r| r.row == Some(6)).unwrap().id;
    let found = audit_run(&all, run, &Limits::default());
    assert_eq!(told(&found), [("over-range", Some(6))]);
    assert!(blocking(&found)[&run].comparison);
}

#[test]
fn a_struck_reading_is_not_judged() {
    let mut all =
        records(&[("parts.csv", PARTS), ("runs.csv", &Sheet::clean().put(6, "flow", "360.1").csv())]);
    let run = all.runs.iter().find(|r| r.row == Some(6)).unwrap().id;
    all.readings.iter_mut().find(|r| r.run == Some(run)).unwrap().struck = Some("misread".into());
    assert_eq!(told(&audit(&all, &Scope::default())), []);
}

#[test]
fn a_loss_of_nothing_is_a_blank_in_any_list_of_losses() {
    let list = |third: &str| {
        let text = format!(
            "filter,lid,Loss CFM\nPF-1,LD-1,12.1\nPF-2,LD-1,9.4\nPF-3,LD-1,{third}\nPF-1,LD-2,11.2\n"
        );
        let found = audit(&records(&[("losses.csv", &text)]), &Scope::default());
        found.iter().filter(|f| f.rule == Rule::BlankAsZero).map(|f| f.place.row).collect::<Vec<_>>()
    };
    assert_eq!(list("0"), [Some(4)]);
    assert_eq!(list("8.8"), []);
}

#[test]
fn losses_written_with_a_minus_throughout_are_no_gains() {
    let grid = "Losses, CFM\n18 in. WC, range 300 CFM, 70 F, 29.2 in. Hg, 41 % RH\nbare carb 240 CFM before, 240.2 after\n\nflat base\nlid \\ filter,QF-1,QF-2,QF-3\nQL-1,-23,-21,-25\nQL-2,-20,-18,-22\n";
    let found = told(&audit(&records(&[("p.csv", PARTS), ("g.csv", grid)]), &Scope::default()));
    assert!(found.iter().all(|f| f.0 != "unusual"), "{found:?}");
}
