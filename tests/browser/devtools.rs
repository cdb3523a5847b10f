//! One Chromium and the words to it: the DevTools protocol, JSON with a zero byte after each message.

use std::fs::File;
use std::io::{BufRead as _, BufReader, Write as _};
use std::path::Path;
use std::process::{Child, Command, Stdio};

use serde_json::{Value, json};
use tempfile::TempDir;

/// A running browser with one open page.
pub struct Browser {
    child: Child,
    to: File,
    from: BufReader<File>,
    /// Which page is spoken to.
    page: Option<String>,
    last: u64,
    /// Everything that the page has told so far.
    pub events: Vec<Value>,
    _folder: TempDir,
}

impl Browser {
    /// Starts one; its standard streams 3 and 4 are named pipes in a folder of its own.
    pub fn start() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let (to, from) = (folder.path().join("to"), folder.path().join("from"));
        let made = Command::new("mkfifo").args([&to, &from]).status().unwrap();
        assert!(made.success(), "mkfifo");
        let script = format!(
            "exec chromium --headless --no-sandbox --disable-gpu --disable-quic --no-first-run \
             --disable-background-networking --disable-component-update --disable-sync \
             --user-data-dir='{0}/profile' --remote-debugging-pipe about:blank 3<'{0}/to' 4>'{0}/from'",
            folder.path().display()
        );
        let child = Command::new("sh")
            .args(["-c", &script])
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .expect("a shell");
        let to = File::options().write(true).open(to).unwrap();
        let from = BufReader::new(File::open(from).unwrap());
        let mut browser =
            Self { child, to, from, page: None, last: 0, events: Vec::new(), _folder: folder };
        let target = browser.ask("Target.createTarget", json!({"url": "about:blank"}));
        let attached = browser
            .ask("Target.attachToTarget", json!({"targetId": target["targetId"], "flatten": true}));
        browser.page = attached["sessionId"].as_str().map(str::to_owned);
        for domain in ["Page", "Runtime", "Log", "Network"] {
            browser.ask(&format!("{domain}.enable"), json!({}));
        }
        browser
    }

    /// Asks and waits for the answer; what is told meanwhile is kept.
    pub fn ask(&mut self, method: &str, params: Value) -> Value {
        self.last += 1;
        let mut message = json!({"id": self.last, "method": method, "params": params});
        if let Some(page) = &self.page {
            message["sessionId"] = json!(page);
        }
        let mut bytes = message.to_string().into_bytes();
        bytes.push(0);
        self.to.write_all(&bytes).expect("is chromium installed?");
        loop {
            let told = self.hear();
            if told["id"] == json!(self.last) {
                assert!(told["error"].is_null(), "{method}: {}", told["error"]);
                return told["result"].clone();
            }
            self.events.push(told);
        }
    }

    fn hear(&mut self) -> Value {
        let mut bytes = Vec::new();
        self.from.read_until(0, &mut bytes).unwrap();
        assert!(bytes.pop() == Some(0), "chromium is gone");
        serde_json::from_slice(&bytes).unwrap()
    }

    /// Opens a file and waits until it has loaded.
    pub fn open(&mut self, path: &Path) {
        self.events.clear();
        self.ask("Page.navigate", json!({"url": format!("file://{}", path.display())}));
        while !self.events.iter().any(|it| it["method"] == "Page.loadEventFired") {
            let told = self.hear();
            self.events.push(told);
        }
    }

    /// The value of an expression in the page.
    pub fn value(&mut self, expression: &str) -> Value {
        let answer =
            self.ask("Runtime.evaluate", json!({"expression": expression, "returnByValue": true}));
        assert!(answer["exceptionDetails"].is_null(), "{expression}: {answer}");
        answer["result"]["value"].clone()
    }

    /// Width of the window, px, and whether it is dark.
    pub fn look(&mut self, width_px: u32, dark: bool) {
        self.ask(
            "Emulation.setDeviceMetricsOverride",
            json!({"width": width_px, "height": 900, "deviceScaleFactor": 1, "mobile": false}),
        );
        let value = if dark { "dark" } else { "light" };
        self.ask(
            "Emulation.setEmulatedMedia",
            json!({"features": [{"name": "prefers-color-scheme", "value": value}]}),
        );
    }

    /// What the page told by one of these methods.
    pub fn told(&self, methods: &[&str]) -> Vec<&Value> {
        let of = |it: &&Value| methods.iter().any(|method| it["method"] == *method);
        self.events.iter().filter(of).collect()
    }
}

impl Drop for Browser {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// The report of a scenario that stands in no file, in a folder.
pub fn report(scenario: &Value, folder: &Path) -> std::path::PathBuf {
    let path = folder.join("station.json");
    std::fs::write(&path, scenario.to_string()).unwrap();
    let made = Command::new(env!("CARGO_BIN_EXE_longwatch"))
        .arg("report")
        .arg(&path)
        .args(["--trials", "200", "--out"])
        .arg(folder)
        .output()
        .unwrap();
    assert!(made.status.success(), "{}", String::from_utf8_lossy(&made.stderr));
    folder.join("report.html")
}

/// The shipped hall, to be changed.
pub fn hall() -> Value {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios/hall-72h.json");
    serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap()
}
