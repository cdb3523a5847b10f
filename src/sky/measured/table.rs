//! The text of a measured series into numbers, with every problem at its line.

use chrono::{Duration, NaiveDateTime};
use csv::{ReaderBuilder, StringRecord, Trim};

use crate::scenario::sun::{Decimal, Delimiter, Measured};

use super::super::problem::{SkyProblem, SkyProblemKind};
use super::stamp::{Clock, hour_of_year};
use super::{MeasuredHour, Series};

/// Readings down to this are the night offset of a pyranometer and count as 0, W/m2: the lower
/// physical limit of the Baseline Surface Radiation Network's tests (from memory).
pub const NIGHT_OFFSET_W_M2: f64 = -4.0;
/// Nothing under the sun is brighter, W/m2.
const BRIGHTEST_W_M2: f64 = 2000.0;
/// The air of the earth, deg C (extremes measured: -89 and 57).
const AIR_C: (f64, f64) = (-90.0, 60.0);

/// A declared column that was found.
struct Column<'a> {
    name: &'a str,
    at: usize,
    range: (f64, f64),
}

/// Reads the whole table.
///
/// # Errors
/// Everything wrong with it.
pub fn read(measured: &Measured, text: &str) -> Result<Series, Vec<SkyProblem>> {
    let clock = Clock::new(measured)
        .map_err(|kinds| kinds.into_iter().map(SkyProblem::from).collect::<Vec<_>>())?;
    if measured.delimiter == Delimiter::Comma && measured.decimal == Decimal::Comma {
        return Err(vec![SkyProblemKind::SameMark.into()]);
    }
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let mut reader = ReaderBuilder::new()
        .delimiter(match measured.delimiter {
            Delimiter::Comma => b',',
            Delimiter::Semicolon => b';',
            Delimiter::Tab => b'\t',
        })
        .comment(Some(b'#'))
        .has_headers(false)
        .flexible(true)
        .trim(Trim::All)
        .from_reader(text.as_bytes());
    let mut lines = Lines::new(text);
    let mut records = reader.records();
    let header = match records.next() {
        Some(Ok(header)) => header,
        Some(Err(error)) => return Err(vec![SkyProblemKind::Row(error.to_string()).into()]),
        None => return Err(vec![SkyProblemKind::NoHeader.into()]),
    };
    let header_line = lines.of(&header);
    let columns = Columns::find(measured, &clock, &header).map_err(|kinds| {
        kinds.into_iter().map(|kind| SkyProblem::at(header_line, kind)).collect::<Vec<_>>()
    })?;

    let mut problems = Vec::new();
    let mut order = Order::default();
    let mut hours = Vec::new();
    for record in records {
        let record = match record {
            Ok(record) => record,
            Err(error) => {
                problems.push(SkyProblemKind::Row(error.to_string()).into());
                order.forget();
                continue;
            }
        };
        let line = lines.of(&record);
        if record.len() != header.len() {
            problems.push(SkyProblem::at(
                line,
                SkyProblemKind::FieldCount { found: record.len(), allowed: header.len() },
            ));
            order.forget();
            continue;
        }
        match clock.hour(&record[columns.time]) {
            Ok(hour) => problems.extend(order.next(hour).map(|kind| SkyProblem::at(line, kind))),
            Err(kind) => {
                problems.push(SkyProblem::at(line, kind));
                order.forget();
            }
        }
        let values = columns.values.each_ref().map(|column| {
            let column = column.as_ref()?;
            number(&record[column.at], column, measured.decimal)
                .map_err(|kind| problems.push(SkyProblem::at(line, kind)))
                .ok()
        });
        hours.push(MeasuredHour {
            line,
            ghi_w_m2: values[0].unwrap_or(0.0).max(0.0),
            dni_w_m2: values[1].map(|value| value.max(0.0)),
            dhi_w_m2: values[2].map(|value| value.max(0.0)),
            air_c: values[3],
        });
    }
    problems.extend(leap_year(&clock, &order));
    match order.first {
        Some(first) if problems.is_empty() => Ok(Series {
            first: (first - Duration::seconds(i64::from(clock.offset.local_minus_utc()))).and_utc(),
            offset: clock.offset,
            hours,
        }),
        None if problems.is_empty() => Err(vec![SkyProblemKind::NoRows.into()]),
        _ => Err(problems),
    }
}

/// Where the declared columns stand.
struct Columns<'a> {
    time: usize,
    /// Global, direct normal, diffuse, air; none where not declared.
    values: [Option<Column<'a>>; 4],
}

impl<'a> Columns<'a> {
    fn find(
        measured: &'a Measured,
        clock: &Clock<'a>,
        header: &StringRecord,
    ) -> Result<Self, Vec<SkyProblemKind>> {
        let light = (NIGHT_OFFSET_W_M2, BRIGHTEST_W_M2);
        let declared = [
            (Some(measured.ghi_column.as_str()), "ghi_column", light),
            (measured.dni_column.as_deref(), "dni_column", light),
            (measured.dhi_column.as_deref(), "dhi_column", light),
            (measured.air_column.as_deref(), "air_column", AIR_C),
        ];
        let mut problems = Vec::new();
        let mut place = |name: &str, key| {
            find_column(header, name, key).map_err(|kind| problems.push(kind)).ok()
        };
        let time = place(clock.column(), "time");
        let values = declared.map(|(name, key, range)| {
            let name = name?;
            place(name, key).map(|at| Column { name, at, range })
        });
        match time {
            Some(time) if problems.is_empty() => Ok(Self { time, values }),
            _ => Err(problems),
        }
    }
}

fn find_column(
    header: &StringRecord,
    name: &str,
    key: &'static str,
) -> Result<usize, SkyProblemKind> {
    let mut places = header.iter().enumerate().filter(|(_, there)| *there == name.trim());
    match (places.next(), places.next()) {
        (Some((at, _)), None) => Ok(at),
        (Some(_), Some(_)) => Err(SkyProblemKind::ColumnTwice(name.to_owned())),
        (None, _) => Err(SkyProblemKind::ColumnMissing {
            name: name.to_owned(),
            key,
            there: header.iter().map(str::to_owned).collect(),
            like: nearest(header, name),
        }),
    }
}

/// The column whose name is most like `name`, if any is.
fn nearest(header: &StringRecord, name: &str) -> Option<String> {
    let wanted = name.to_lowercase();
    header
        .iter()
        .map(|there| (strsim::jaro_winkler(&there.to_lowercase(), &wanted), there))
        .filter(|(likeness, _)| *likeness > 0.75)
        .max_by(|one, other| one.0.total_cmp(&other.0))
        .map(|(_, there)| there.to_owned())
}

fn number(field: &str, column: &Column, decimal: Decimal) -> Result<f64, SkyProblemKind> {
    if field.is_empty() {
        return Err(SkyProblemKind::Empty(column.name.to_owned()));
    }
    let parsed = match decimal {
        Decimal::Point => field.parse::<f64>(),
        // A point would be a mark of thousands: refused rather than guessed.
        Decimal::Comma if field.contains('.') => "".parse::<f64>(),
        Decimal::Comma => field.replace(',', ".").parse::<f64>(),
    };
    let value =
        parsed.ok().filter(|value| value.is_finite()).ok_or_else(|| SkyProblemKind::Number {
            column: column.name.to_owned(),
            found: field.to_owned(),
            comma: decimal == Decimal::Point && field.contains(','),
        })?;
    let (lowest, highest) = column.range;
    if value < lowest || value > highest {
        return Err(SkyProblemKind::OutOfRange {
            column: column.name.to_owned(),
            found: value,
            lowest,
            highest,
        });
    }
    Ok(value)
}

/// Watches that hour follows hour.
#[derive(Default)]
struct Order {
    first: Option<NaiveDateTime>,
    last: Option<NaiveDateTime>,
    /// The row before could not be read, so that the step to this one says nothing.
    lost: bool,
}

impl Order {
    fn forget(&mut self) {
        self.lost = true;
    }

    fn next(&mut self, hour: NaiveDateTime) -> Option<SkyProblemKind> {
        let before = self.last.filter(|_| !self.lost);
        self.first.get_or_insert(hour);
        self.last = Some(hour);
        self.lost = false;
        let before = before?;
        match (hour - before).num_hours() {
            1 => None,
            0 => Some(SkyProblemKind::Repeated(hour)),
            step if step < 0 => Some(SkyProblemKind::OutOfOrder { found: hour, before }),
            step => Some(SkyProblemKind::Gap { hours: step - 1, next: hour }),
        }
    }
}

/// A typical year of 8760 hours called a leap year would slip by a day.
fn leap_year(clock: &Clock, order: &Order) -> Option<SkyProblem> {
    let year = clock.counted_year()?;
    let leap = chrono::NaiveDate::from_yo_opt(year, 1)?.leap_year();
    (leap && hour_of_year(order.last?) == 8759).then(|| SkyProblemKind::LeapYear(year).into())
}

/// Counts lines along the text. The reader's own count is one short where comments or empty lines
/// come before a record or lines end with a carriage return.
struct Lines<'a> {
    text: &'a [u8],
    at: usize,
    line: usize,
}

impl<'a> Lines<'a> {
    fn new(text: &'a str) -> Self {
        Self { text: text.as_bytes(), at: 0, line: 1 }
    }

    /// Line of a record from 1; records have to come in order.
    fn of(&mut self, record: &StringRecord) -> usize {
        let from = record.position().map_or(0, |position| position.byte());
        let from = usize::try_from(from).unwrap_or(0).clamp(self.at, self.text.len());
        self.go_to(from);
        let mut line_begins = from == 0 || self.text.get(from - 1) == Some(&b'\n');
        while let Some(&byte) = self.text.get(self.at) {
            match byte {
                b'\n' => line_begins = true,
                b'\r' => {}
                b'#' if line_begins => {
                    while self.text.get(self.at + 1).is_some_and(|next| *next != b'\n') {
                        self.at += 1;
                    }
                    line_begins = false;
                }
                _ => break,
            }
            self.go_to(self.at + 1);
        }
        self.line
    }

    fn go_to(&mut self, at: usize) {
        self.line += self.text[self.at..at].iter().filter(|byte| **byte == b'\n').count();
        self.at = at;
    }
}
