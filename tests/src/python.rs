//! Python with numpy and scipy for the independent checks, in its own folder under `target/tools`.

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use crate::tools::{Missing, install_debian, run};
use crate::under_target;

/// The versions that the checks were written against.
const PACKAGES: [&str; 2] = ["numpy==2.4.6", "scipy==1.17.1"];

/// Finds or makes the Python that has the packages.
///
/// # Errors
/// Reports what is missing and how to get it.
pub fn ensure() -> Result<PathBuf, Missing> {
    let home = under_target("tools/python");
    let python = home.join("bin/python");
    if has_packages(&python) {
        return Ok(python);
    }
    println!("installing {} (once)", PACKAGES.join(" and "));
    let hint = "install Python 3.11 or newer with its venv module (Debian: apt-get install \
                python3-venv), connect to the network and run this again";
    let missing = |why| Missing::new("Python with numpy and scipy", why, hint);
    let venv = || run(Command::new("python3").args(["-m", "venv"]).arg(&home));
    // Debian's python3 comes without the module that creates such a folder.
    venv()
        .or_else(|_| install_debian(&["python3", "python3-venv"]).and_then(|()| venv()))
        .map_err(missing)?;
    let mut pip = Command::new(&python);
    pip.args([
        "-m",
        "pip",
        "install",
        "--quiet",
        "--disable-pip-version-check",
    ]);
    run(pip.args(PACKAGES)).map_err(missing)?;
    if has_packages(&python) {
        Ok(python)
    } else {
        Err(missing(format!("{} does not have them", python.display())))
    }
}

fn has_packages(python: &Path) -> bool {
    let mut ask = Command::new(python);
    ask.args([
        "-c",
        "import numpy, scipy; print(f'numpy=={numpy.__version__} scipy=={scipy.__version__}')",
    ]);
    let answer = ask.stdin(Stdio::null()).stderr(Stdio::null()).output();
    answer.is_ok_and(|answer| String::from_utf8_lossy(&answer.stdout).trim() == PACKAGES.join(" "))
}
