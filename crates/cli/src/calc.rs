//! `airshelf calc`: one subcommand for each calculator of the app.

use crate::output::Output;
use airshelf_app::Fault;
use airshelf_app::calc::{CALCULATORS, Calculator, Kind, Need, Parameter, Shown};
use clap::{Arg, ArgAction, ArgMatches, Command};

/// The subcommands, made from the app's table of calculators.
pub(crate) fn commands() -> Vec<Command> {
    CALCULATORS
        .iter()
        .map(|calculator| {
            let mut command = Command::new(calculator.name)
                .about(calculator.about)
                .arg_required_else_help(true)
                .after_help(format!(
                    "Formula: {}\nSource:  {}\nHolds:   {}\n\nExample: {}",
                    calculator.formula, calculator.source, calculator.range, calculator.example
                ));
            for parameter in calculator.parameters {
                command = command.arg(argument(parameter));
            }
            command
        })
        .collect()
}

fn argument(parameter: &Parameter) -> Arg {
    let value = match parameter.kind {
        Kind::Quantity(dimension) => dimension.name().to_uppercase().replace(' ', "_"),
        Kind::AnyQuantity | Kind::FlowOrRatio => "QUANTITY".into(),
        Kind::Unit => "UNIT".into(),
        Kind::Point => "FLOW:DROP".into(),
        Kind::Choice(words) => words.join("|"),
        Kind::Ratio => "RATIO".into(),
        Kind::Speed => "RPM".into(),
        Kind::Number | Kind::Whole => "NUMBER".into(),
    };
    let arg = Arg::new(parameter.name).value_name(value).help(match parameter.need {
        Need::Default(text) => format!("{} [{text}]", parameter.about),
        _ => parameter.about.to_owned(),
    });
    match parameter.need {
        Need::Positional => arg.required(true).allow_hyphen_values(true),
        Need::Repeated => arg.required(true).num_args(1..).action(ArgAction::Append),
        Need::Required => arg.long(parameter.name).required(true).allow_hyphen_values(true),
        Need::Optional | Need::Default(_) => arg.long(parameter.name).allow_hyphen_values(true),
    }
}

/// Runs one calculator.
pub(crate) fn run(name: &str, given: &ArgMatches, out: &mut Output) -> Result<u8, Fault> {
    let calculator = Calculator::named(name).expect("clap only accepts the table's names");
    let given: Vec<(&str, Vec<String>)> = calculator
        .parameters
        .iter()
        .filter_map(|p| Some((p.name, given.get_many::<String>(p.name)?.cloned().collect())))
        .collect();
    let shown = calculator.run(&given, out.system)?;
    if out.json {
        out.document(&shown.to_json());
    } else {
        print(&shown, out);
    }
    Ok(0)
}

fn print(shown: &Shown, out: &mut Output) {
    let rows = shown.result.iter().map(|value| {
        let text = match (value.value.as_f64(), value.dimension) {
            (Some(si), Some(dimension)) => out.quantity(si, dimension),
            (Some(x), None) => {
                airshelf_app::units::show_number(x, airshelf_app::units::Digits::Significant(6))
            }
            _ => match &value.value {
                serde_json::Value::Bool(yes) => if *yes { "yes" } else { "no" }.to_owned(),
                serde_json::Value::String(text) => text.clone(),
                serde_json::Value::Null => "–".to_owned(),
                other => other.to_string(),
            },
        };
        vec![value.label.to_owned(), text]
    });
    let rows: Vec<Vec<String>> = rows.collect();
    out.table(&[], &rows);
    out.line("");
    for (what, text) in [("formula", shown.formula), ("source", shown.source), ("holds", shown.range)] {
        out.wrapped(&format!("{what}: "), text);
    }
    for caution in &shown.cautions {
        out.wrapped("caution: ", caution);
    }
}
