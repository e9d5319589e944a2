//! Project chores: `cargo xtask start | screens | types | test | hub | same | browser | desktop | bench | tidy`.
//!
//! Every chore installs what it needs when it may, and otherwise prints the one command that would.

mod bench;
mod browser;
mod desktop;
mod hub;
mod machine;
mod same;
mod screens;
mod speed;
mod start;
mod test;
mod tidy;

use std::process::ExitCode;

const USAGE: &str = "\
cargo xtask start            builds everything and opens the screens on the demo shelf
cargo xtask start --desktop  the same in a window
cargo xtask screens [--quick] the browser's module and the screens, into ui/dist
cargo xtask types            the TypeScript types of the requests
cargo xtask test [--long]    formatting, lints, tidy and all tests; --long adds the long simulations
cargo xtask hub              a running hub against its own document, as the tests do it
cargo xtask same [--long]    whether the built module answers as the native app does, byte for byte
cargo xtask browser          the screens in a real browser, as the tests walk through them
cargo xtask desktop          the program with the window; --test walks through it, --deb makes a package,
                             --clean-root installs and starts that package on a clean root
cargo xtask bench [--rows N] import, comparison, memory and the screens, each against a peer in the same run
cargo xtask bench --screens  the screens alone
cargo xtask tidy             crate directions and file headers
";

fn main() -> ExitCode {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    let done = match words.as_slice() {
        ["start"] => start::run(false),
        ["start", "--desktop"] => start::run(true),
        ["screens"] => screens::build(screens::How::Small),
        ["screens", "--quick"] => screens::build(screens::How::Quick),
        ["types"] => screens::types(),
        #[cfg(feature = "bindings")]
        ["bind", module, to] => screens::bind(module.as_ref(), to.as_ref()),
        ["test"] => test::run(false),
        ["test", "--long"] => test::run(true),
        ["hub"] => hub::run(false),
        ["same"] => same::run(false),
        ["same", "--long"] => same::run(true),
        ["desktop"] => desktop::run(),
        ["desktop", "--test"] => desktop::test(),
        ["desktop", "--deb"] => desktop::deb().map(|_| ()),
        ["desktop", "--clean-root"] => desktop::clean_root(),
        ["browser"] => browser::run(false),
        ["bench"] => bench::run(100_000).and_then(|()| speed::run()),
        ["bench", "--screens"] => speed::run(),
        ["bench", "--rows", rows] => match rows.parse() {
            Ok(rows) => bench::run(rows),
            Err(_) => Err(format!("--rows takes a whole number, not {rows}")),
        },
        ["tidy"] => tidy::run(),
        _ => {
            eprint!("{USAGE}");
            return ExitCode::from(2);
        }
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(why) => {
            eprintln!("xtask: {why}");
            ExitCode::FAILURE
        }
    }
}
