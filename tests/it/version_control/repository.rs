//! A git repository with a small house in it, gone when the test ends.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

const PROGRAM: &str = env!("CARGO_BIN_EXE_housewright");

/// A lamp: key, name, and the last part of its addresses.
pub(super) type Lamp<'a> = (&'a str, &'a str, u8);

/// A repository on the branch `main`, without a commit.
pub(super) struct Repository(tempfile::TempDir);

impl Repository {
    pub(super) fn new() -> Self {
        let repository = Self(tempfile::tempdir().expect("a folder for the test"));
        repository.git(&["init", "-q", "-b", "main"]);
        repository.git(&["config", "user.name", "Ada"]);
        repository.git(&["config", "user.email", "ada@example.org"]);
        repository
    }

    /// One that shows and merges as the recipe has it, with a house of these lamps that is built and committed.
    pub(super) fn with(lamps: &[Lamp]) -> Self {
        let repository = Self::new();
        repository.write(".gitattributes", &recipe("gitattributes"));
        let program = |words: &str| format!("'{PROGRAM}' {words}");
        repository.git(&["config", "merge.ledger.driver", &program("ledger merge %O %A %B")]);
        repository.house(lamps);
        repository.build();
        repository.commit("Build");
        repository
    }

    /// Has git show files by `review --git-driver`: as its external diff `command` or as its filter `textconv`.
    pub(super) fn shows_by(&self, way: &str) {
        self.git(&["config", &format!("diff.house.{way}"), &format!("'{PROGRAM}' review --git-driver")]);
    }

    pub(super) fn folder(&self) -> &Path {
        self.0.path()
    }

    fn run(&self, program: &str, arguments: &[&str]) -> Output {
        let own = Path::new(PROGRAM).parent().expect("it lies in a folder").display().to_string();
        Command::new(program)
            .args(arguments)
            .current_dir(self.folder())
            .env_clear()
            .env("PATH", format!("{own}:/usr/local/bin:/usr/bin:/bin"))
            .env("HOME", self.folder())
            .output()
            .unwrap_or_else(|cause| panic!("{program} is installed: {cause}"))
    }

    /// What git prints, and whether it went well.
    pub(super) fn try_git(&self, arguments: &[&str]) -> (bool, String) {
        said(&self.run("git", arguments))
    }

    /// What git prints; it must go well.
    pub(super) fn git(&self, arguments: &[&str]) -> String {
        let (done, text) = self.try_git(arguments);
        assert!(done, "git {arguments:?}: {text}");
        text
    }

    /// Exit code of the program, and what it prints.
    pub(super) fn housewright(&self, arguments: &[&str]) -> (i32, String) {
        coded(&self.run(PROGRAM, arguments))
    }

    /// Exit code of a script, and what it prints.
    pub(super) fn script(&self, script: &Path, arguments: &[&str]) -> (i32, String) {
        coded(&self.run(&script.display().to_string(), arguments))
    }

    /// Writes a house of lamps in two rooms.
    pub(super) fn house(&self, lamps: &[Lamp]) {
        let mut text =
            "housewright: 1\nhouse: { id: lock-hut, name: Lock hut }\nbridges: { hut: { name: Lock hut, \
                        capacity: 20 } }\nrooms:\n  hut:\n    name: Hut\n    appliances:\n"
                .to_owned();
        for (key, name, at) in lamps {
            let points = format!("{{ switching: {{ command: 1/1/{at}, feedback: 1/4/{at} }} }}");
            let lamp = format!(
                "      {key}:\n        name: {name}\n        class: on-off-light\n        points: {points}\n"
            );
            text.push_str(&lamp);
        }
        self.write("house.yaml", &text);
    }

    /// Builds into `build`.
    pub(super) fn build(&self) -> String {
        let (code, text) = self.housewright(&["build", "."]);
        assert_eq!(code, 0, "{text}");
        text
    }

    pub(super) fn commit(&self, subject: &str) {
        self.git(&["add", "-A"]);
        self.git(&["commit", "-q", "--allow-empty", "-m", subject]);
    }

    pub(super) fn write(&self, name: &str, text: &str) {
        std::fs::write(self.folder().join(name), text).expect("the folder is ours");
    }

    pub(super) fn read(&self, name: &str) -> String {
        std::fs::read_to_string(self.folder().join(name)).unwrap_or_else(|cause| panic!("{name}: {cause}"))
    }
}

fn said(output: &Output) -> (bool, String) {
    let mut text = String::from_utf8_lossy(&output.stdout).into_owned();
    text.push_str(&String::from_utf8_lossy(&output.stderr));
    (output.status.success(), text)
}

fn coded(output: &Output) -> (i32, String) {
    (output.status.code().unwrap_or(-1), said(output).1)
}

/// The path of a recipe of the examples.
pub(super) fn recipe_path(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/version-control").join(name)
}

/// The text of a recipe of the examples.
pub(super) fn recipe(name: &str) -> String {
    std::fs::read_to_string(recipe_path(name)).unwrap_or_else(|cause| panic!("{name}: {cause}"))
}
