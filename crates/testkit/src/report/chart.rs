//! Small charts as SVG, drawn by hand: a title, axes with their unit, marks with what they mean in words.

use std::fmt::Write as _;

const INK: &str = "#1f2933";
const PALE: &str = "#d9dee3";
const BAND: &str = "#e6efe6";
const MARK: &str = "#2f6690";
const OTHER: &str = "#b5651d";

/// A drawing on its way.
struct Sheet {
    body: String,
    width: f64,
    height: f64,
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;")
}

impl Sheet {
    fn new(width: f64, height: f64, title: &str) -> Self {
        let mut s = Sheet { body: String::new(), width, height };
        s.text(16.0, 26.0, 15.0, "start", title);
        s
    }

    fn text(&mut self, x: f64, y: f64, size: f64, anchor: &str, text: &str) {
        let _ = writeln!(
            self.body,
            r#"<text x="{x:.1}" y="{y:.1}" font-size="{size}" text-anchor="{anchor}" fill="{INK}">{}</text>"#,
            escaped(text)
        );
    }

    fn line(&mut self, from: (f64, f64), to: (f64, f64), colour: &str, width: f64) {
        let ((a, b), (c, d)) = (from, to);
        let _ = writeln!(
            self.body,
            r#"<line x1="{a:.1}" y1="{b:.1}" x2="{c:.1}" y2="{d:.1}" stroke="{colour}" stroke-width="{width}"/>"#
        );
    }

    fn rect(&mut self, x: f64, y: f64, w: f64, h: f64, colour: &str) {
        let _ = writeln!(
            self.body,
            r#"<rect x="{x:.1}" y="{y:.1}" width="{:.1}" height="{:.1}" fill="{colour}"/>"#,
            w.max(0.0),
            h.max(0.0)
        );
    }

    fn dot(&mut self, x: f64, y: f64, colour: &str, hollow: bool) {
        let fill = if hollow { "#ffffff" } else { colour };
        let _ = writeln!(
            self.body,
            r#"<circle cx="{x:.1}" cy="{y:.1}" r="4.5" fill="{fill}" stroke="{colour}" stroke-width="2"/>"#
        );
    }

    fn done(self, title: &str, description: &str) -> String {
        let (w, h) = (self.width, self.height);
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {w:.0} {h:.0}\" width=\"{w:.0}\" height=\"{h:.0}\" \
             font-family=\"sans-serif\" role=\"img\">\n<title>{}</title>\n<desc>{}</desc>\n\
             <rect width=\"{w:.0}\" height=\"{h:.0}\" fill=\"#ffffff\"/>\n{}</svg>\n",
            escaped(title),
            escaped(description),
            self.body
        )
    }
}

/// Counts of ranks by bin, one panel for each name, with the band that holds 99 in 100 bins of an even law.
pub fn ranks(title: &str, panels: &[(&str, Vec<u32>)], band: (f64, f64), each: f64) -> String {
    let (w, h, top) = (150.0, 120.0, 58.0);
    let width = 40.0 + (w + 18.0) * panels.len() as f64;
    let mut s = Sheet::new(width, top + h + 58.0, title);
    let most = panels.iter().flat_map(|p| &p.1).copied().max().unwrap_or(1).max(band.1 as u32 + 1);
    let y = |v: f64| top + h - v / f64::from(most) * h;
    for (i, (name, counts)) in panels.iter().enumerate() {
        let left = 40.0 + (w + 18.0) * i as f64;
        s.rect(left, y(band.1), w, y(band.0) - y(band.1), BAND);
        let bar = w / counts.len() as f64;
        for (k, c) in counts.iter().enumerate() {
            let at = y(f64::from(*c));
            s.rect(left + bar * k as f64 + 0.7, at, bar - 1.4, top + h - at, MARK);
        }
        s.line((left, y(each)), (left + w, y(each)), OTHER, 1.5);
        s.line((left, top + h), (left + w, top + h), INK, 1.0);
        s.text(left + w / 2.0, top - 8.0, 13.0, "middle", name);
        s.text(left, top + h + 15.0, 10.0, "start", "lowest");
        s.text(left + w, top + h + 15.0, 10.0, "end", "highest");
    }
    s.text(34.0, y(each) + 4.0, 11.0, "end", &format!("{each:.0}"));
    s.text(34.0, top + h + 4.0, 11.0, "end", "0");
    let x_axis = "rank of the true value among the draws, in bins (dogs in each bin; line: even, band: 99 in 100 bins)";
    s.text(16.0, top + h + 44.0, 12.0, "start", x_axis);
    let counts: Vec<String> = panels.iter().map(|p| format!("{}: {:?}", p.0, p.1)).collect();
    s.done(title, &counts.join("; "))
}

/// One row of a chart of intervals.
pub struct Row {
    /// What it is of.
    pub name: String,
    /// The value.
    pub at: f64,
    /// Its uncertainty.
    pub from: f64,
    /// See `from`.
    pub until: f64,
    /// A second value to compare with, hollow.
    pub other: Option<f64>,
}

/// Values with their intervals on one axis; a band that they should lie in.
pub struct Rows<'a> {
    /// Title.
    pub title: &'a str,
    /// What the axis shows, with its unit.
    pub axis: &'a str,
    /// What the hollow mark is.
    pub other: &'a str,
    /// The axis from, to, and the step of its ticks.
    pub scale: (f64, f64, f64),
    /// The band.
    pub band: (f64, f64),
    /// The rows.
    pub rows: &'a [Row],
}

impl Rows<'_> {
    /// The chart.
    pub fn drawn(&self) -> String {
        let (left, plot, step, top) = (210.0, 430.0, 26.0, 48.0);
        let bottom = top + step * self.rows.len() as f64 + 6.0;
        let mut s = Sheet::new(left + plot + 40.0, bottom + 56.0, self.title);
        let (low, high, tick) = self.scale;
        let x = |v: f64| left + (v.clamp(low, high) - low) / (high - low) * plot;
        s.rect(x(self.band.0), top, x(self.band.1) - x(self.band.0), bottom - top, BAND);
        let ticks = ((high - low) / tick).round() as i32;
        for k in 0..=ticks {
            let v = low + tick * f64::from(k);
            s.line((x(v), top), (x(v), bottom), PALE, 1.0);
            let p = usize::from(tick < 1.0);
            s.text(x(v), bottom + 16.0, 11.0, "middle", &format!("{v:.p$}"));
        }
        let mut said = Vec::new();
        for (i, r) in self.rows.iter().enumerate() {
            let y = top + step * (i as f64 + 0.5) + 3.0;
            s.text(left - 10.0, y + 4.0, 12.0, "end", &r.name);
            s.line((x(r.from), y), (x(r.until), y), MARK, 2.5);
            s.dot(x(r.at), y, MARK, false);
            if let Some(o) = r.other {
                s.dot(x(o), y, OTHER, true);
            }
            said.push(format!("{}: {:.2} ({:.2} to {:.2})", r.name, r.at, r.from, r.until));
        }
        s.text(left, bottom + 38.0, 12.0, "start", &format!("{}{}", self.axis, self.other));
        s.done(self.title, &format!("{}. {}", self.axis, said.join("; ")))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn charts_have_a_title_an_axis_and_their_marks() {
        let row =
            |name: &str, at: f64| Row { name: name.to_owned(), at, from: at - 1.0, until: at + 1.0, other: Some(at) };
        let rows = [row("a < b", 2.0), row("c", 5.0)];
        let scale = (0.0, 10.0, 2.0);
        let chart = Rows { title: "T", axis: "share, %", other: "", scale, band: (1.0, 3.0), rows: &rows }.drawn();
        assert!(chart.contains("<title>T</title>") && chart.contains("share, %") && chart.contains("a &lt; b"));
        assert_eq!(chart.matches("<circle").count(), 4);
        let ranks = ranks("R", &[("lag", vec![3, 4, 5])], (1.0, 8.0), 4.0);
        // The sheet, the band and three bars.
        assert_eq!(ranks.matches("<rect").count(), 5);
    }
}
