//! `cargo serve`: installs missing tools, builds the app in release and serves it on this machine.

use std::process::ExitCode;

use loomwright_tests::{build, server::Server};

const HELP: &str = "\
cargo serve [--port N] [--address A] [--build-only]

  --port N       serve at this port (8080)
  --address A    serve at this address (127.0.0.1; 0.0.0.0 also serves a tablet on the same network)
  --build-only   build into target/dist and stop";

struct Options {
    port: u16,
    address: String,
    build_only: bool,
}

fn main() -> ExitCode {
    let options = match read_options(std::env::args().skip(1)) {
        Ok(Some(options)) => options,
        Ok(None) => {
            println!("{HELP}");
            return ExitCode::SUCCESS;
        }
        Err(why) => {
            eprintln!("error: {why}\n\n{HELP}");
            return ExitCode::from(2);
        }
    };
    match serve(&options) {
        Ok(()) => ExitCode::SUCCESS,
        Err(why) => {
            eprintln!("error: {why}");
            ExitCode::FAILURE
        }
    }
}

fn serve(options: &Options) -> Result<(), String> {
    let dist = build::release().map_err(|missing| missing.to_string())?;
    println!("built: {}", dist.display());
    if options.build_only {
        return Ok(());
    }
    let address = (options.address.as_str(), options.port);
    let server = Server::start(&dist, address, "/").map_err(|error| {
        format!(
            "cannot serve at {}:{}: {error}\n  help: choose another port with --port",
            options.address, options.port
        )
    })?;
    println!("Loomwright is at {} (stop it with Ctrl-C)", server.url());
    loop {
        std::thread::park();
    }
}

/// The options, or `None` for --help.
fn read_options(mut words: impl Iterator<Item = String>) -> Result<Option<Options>, String> {
    let mut options = Options {
        port: 8080,
        address: "127.0.0.1".into(),
        build_only: false,
    };
    while let Some(word) = words.next() {
        let mut value = || words.next().ok_or(format!("{word} needs a value"));
        match word.as_str() {
            "--port" => {
                let text = value()?;
                options.port = text.parse().map_err(|_| {
                    format!("--port: found {text:?}, expected a number up to 65535")
                })?;
            }
            "--address" => options.address = value()?,
            "--build-only" => options.build_only = true,
            "-h" | "--help" => return Ok(None),
            // The alias has one already; whoever types another means the same.
            "--" => {}
            other => return Err(format!("unknown option {other}")),
        }
    }
    Ok(Some(options))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What cargo hands on of a command line: the alias, then the words behind `cargo serve`.
    fn read(command: &str) -> Result<Option<Options>, String> {
        let config = std::fs::read_to_string(loomwright_tests::top().join(".cargo/config.toml"));
        let config = config.expect("the alias is there");
        let alias = config
            .lines()
            .find_map(|line| line.strip_prefix("serve = \""))
            .expect("serve is an alias");
        let words = format!("{} {command}", alias.trim_end_matches('"'));
        let (_, ours) = words.split_once(" -- ").expect("cargo's words end");
        read_options(ours.split_whitespace().map(str::to_owned))
    }

    #[test]
    fn the_commands_of_the_readme_are_understood() {
        let readme = std::fs::read_to_string(loomwright_tests::top().join("README.md"));
        let readme = readme.expect("it is there");
        let commands: Vec<&str> = readme
            .split(['`', '\n'])
            .filter_map(|it| it.trim().strip_prefix("cargo serve"))
            .map(|it| it.split('#').next().unwrap_or_default())
            .collect();
        assert!(
            commands.iter().any(|it| it.trim() == "--help"),
            "{commands:?}"
        );
        for command in commands {
            assert!(read(command).is_ok(), "cargo serve{command}");
        }
    }

    #[test]
    fn help_is_given_however_it_is_asked_for() {
        for asked in ["--help", "-h", "-- --help"] {
            assert!(matches!(read(asked), Ok(None)), "{asked}");
        }
        let options = read("--port 9000 --address 0.0.0.0").expect("it is understood");
        assert!(options.is_some_and(|it| it.port == 9000 && it.address == "0.0.0.0"));
        assert!(read("--prot 9000").is_err());
    }
}
