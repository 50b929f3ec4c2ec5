//! What one column is, said once.

use crate::Quantity;
use crate::value::Kind;

/// What one column is: everything that a schema, a page, a reader or an analysis has to know of it.
///
/// Code names a column by its constant, never by its text, so that a wrong name does not compile:
///
/// ```
/// use columns::measures;
/// assert_eq!(measures::STALL_MIN.name, "stall_min");
/// assert_eq!(measures::STALL_MIN.unit(), "min");
/// assert!(measures::STALL_MIN.bound.unwrap().is_bound(true));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Description {
    /// Its name, in files and in claims; ends in its unit.
    pub name: &'static str,
    /// What its values are.
    pub kind: Kind,
    /// What its numbers are numbers of; `None` where it holds no number.
    pub quantity: Option<Quantity>,
    /// What people call it, capitalised.
    pub label: &'static str,
    /// What it means, in a sentence.
    pub meaning: &'static str,
    /// The column that says whether a value is only a lower bound.
    pub bound: Option<Bound>,
    /// The columns that say why it holds no value; the first that says something counts.
    pub because: &'static [&'static str],
    /// The tables of the report that show it.
    pub shown: &'static [Shown],
}

/// Which column says that a value is only a lower bound, and by which of its values.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Bound {
    /// The name of the column of yes and no.
    pub by: &'static str,
    /// What stands there where the value is a lower bound.
    pub when: bool,
}

impl Bound {
    /// Whether a value beside which this stands is a lower bound.
    pub fn is_bound(self, stands: bool) -> bool {
        stands == self.when
    }
}

/// A table of the report that takes its rows from the descriptions.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shown {
    /// The numbers of a cook on its page; medians over the cooks beside those that are no counts.
    CookPage,
    /// The times and temperatures that food rules speak of, over the cooks.
    Probe,
    /// The card on a cook's page.
    Card,
}

impl Description {
    /// The unit of its numbers in the store, as schemas name it; empty where there is none.
    pub fn unit(&self) -> &'static str {
        self.quantity.map_or("", |quantity| quantity.si_unit())
    }

    /// What people call it, in the middle of a sentence.
    pub fn label_within(&self) -> String {
        crate::names::lower_first(self.label)
    }

    /// Whether a table of the report shows it.
    pub fn is_shown(&self, place: Shown) -> bool {
        self.shown.contains(&place)
    }

    /// With the column that makes it a lower bound, and the value there that does so.
    pub(crate) const fn bound(mut self, by: Self, when: bool) -> Self {
        assert!(matches!(by.kind, Kind::Bool), "only a column of yes and no says what is a bound");
        self.bound = Some(Bound { by: by.name, when });
        self
    }

    /// With the columns that say why it holds no value.
    pub(crate) const fn because(mut self, columns: &'static [&'static str]) -> Self {
        self.because = columns;
        self
    }

    /// With the tables of the report that show it.
    pub(crate) const fn shown(mut self, places: &'static [Shown]) -> Self {
        self.shown = places;
        self
    }

    /// As the column of this name and kind. What is described already must agree.
    pub(crate) const fn of(mut self, name: &'static str, kind: Kind) -> Self {
        let anew = self.name.is_empty();
        assert!(anew || same(self.name, name), "described under another name");
        assert!(anew || self.kind as u8 == kind as u8, "described as another kind");
        self.name = name;
        self.kind = kind;
        self
    }
}

impl From<Description> for String {
    fn from(column: Description) -> Self {
        column.name.to_owned()
    }
}

/// A column of texts, of yes and no, or of instants.
pub(crate) const fn plain(label: &'static str, meaning: &'static str) -> Description {
    Description {
        name: "",
        kind: Kind::Text,
        quantity: None,
        label,
        meaning,
        bound: None,
        because: &[],
        shown: &[],
    }
}

/// A column of numbers.
pub(crate) const fn number(
    quantity: Quantity,
    label: &'static str,
    meaning: &'static str,
) -> Description {
    let mut column = plain(label, meaning);
    column.quantity = Some(quantity);
    column
}

const fn same(a: &str, b: &str) -> bool {
    let (a, b) = (a.as_bytes(), b.as_bytes());
    let mut at = 0;
    while at < a.len() && at < b.len() && a[at] == b[at] {
        at += 1;
    }
    at == a.len() && at == b.len()
}

/// Whether a constant's name is the column's in capitals.
pub(crate) const fn is_in_capitals(constant: &str, column: &str) -> bool {
    let (constant, column) = (constant.as_bytes(), column.as_bytes());
    let mut at = 0;
    while at < constant.len()
        && at < column.len()
        && constant[at] == column[at].to_ascii_uppercase()
    {
        at += 1;
    }
    at == constant.len() && at == column.len()
}

/// A list of columns: a constant for each, and all of them in order. The type decides the kind.
macro_rules! list {
    ($( $constant:ident $name:ident: $type:ty = $description:expr; )*) => {
        $(
            #[doc = concat!("Column `", stringify!($name), "`.")]
            pub const $constant: $crate::Description =
                $description.of(stringify!($name), <$type as $crate::Field>::KIND);
            const _: () = assert!(
                $crate::describe::is_in_capitals(stringify!($constant), stringify!($name)),
                "the constant is the column's name in capitals"
            );
        )*

        /// Every column, in the table's order.
        pub const ALL: &[$crate::Description] = &[$($constant),*];
    };
}
pub(crate) use list;

/// A list of columns, and the row that has a field of each.
macro_rules! row {
    (
        $(#[$attribute:meta])* struct $row:ident;
        $( $constant:ident $name:ident: $type:ty = $description:expr; )*
    ) => {
        $crate::describe::list! { $( $constant $name: $type = $description; )* }

        $(#[$attribute])*
        #[derive(Debug, Clone, PartialEq, Default)]
        pub struct $row {
            $(
                #[doc = concat!("See [`", stringify!($constant), "`].")]
                pub $name: $type,
            )*
        }

        impl $crate::Row for $row {
            const ALL: &'static [$crate::Description] = ALL;

            fn value(&self, column: $crate::Description) -> $crate::Value {
                Self::value(self, column.name)
            }

            fn of_row(table: &$crate::Table, row: usize) -> Self {
                Self::of_row(table, row)
            }
        }

        impl $row {
            /// One row of a table: a column that is not there is null, one of another name is passed
            /// over.
            ///
            /// # Panics
            /// Where the row is beyond the last: a mistake in the caller.
            pub fn of_row(table: &$crate::Table, row: usize) -> Self {
                let mut own = Self::default();
                for (name, column) in table.columns() {
                    own.set(name, column.value(row));
                }
                own
            }

            /// The value of a column; null where there is no such column.
            pub fn value(&self, name: &str) -> $crate::Value {
                match name {
                    $( stringify!($name) => $crate::Field::value(&self.$name), )*
                    _ => $crate::Value::Null,
                }
            }

            /// Whether the value of a column is only a lower bound.
            pub fn is_bound(&self, column: &$crate::Description) -> bool {
                column.bound.is_some_and(|bound| match self.value(bound.by) {
                    $crate::Value::Bool(stands) => bound.is_bound(stands),
                    _ => false,
                })
            }

            /// Why a column holds no value, as the columns say that tell it.
            pub fn reason(&self, column: &$crate::Description) -> Option<String> {
                column.because.iter().find_map(|name| match self.value(name) {
                    $crate::Value::Text(reason) => Some(reason),
                    _ => None,
                })
            }

            /// The values with their columns, in the order of [`ALL`].
            pub fn cells(&self) -> Vec<($crate::Description, $crate::Value)> {
                vec![ $( ($constant, $crate::Field::value(&self.$name)), )* ]
            }

            /// Puts a value in by its column's name; false where there is no such column.
            ///
            /// # Panics
            /// Where the value is of another kind: a mistake in the caller.
            pub fn set(&mut self, name: &str, value: $crate::Value) -> bool {
                match name {
                    $( stringify!($name) => self.$name = $crate::Field::of(value), )*
                    _ => return false,
                }
                true
            }
        }
    };
}
pub(crate) use row;
