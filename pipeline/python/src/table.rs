//! The workspace's tables as Python's.

use crate::errors::{fault, guarded};
use arrow_array::ffi_stream::FFI_ArrowArrayStream;
use arrow_array::{RecordBatch, RecordBatchIterator};
use pyo3::prelude::*;
use pyo3::types::PyCapsule;

/// A table with the Arrow stream protocol: `pyarrow.table(t)`, `polars.DataFrame(t)` and others take it as it
/// is, without a copy.
#[pyclass(frozen, module = "cookstudy._cookstudy")]
#[derive(Debug)]
pub(crate) struct Table(RecordBatch);

impl Table {
    /// A batch as it is.
    pub(crate) fn of_batch(batch: RecordBatch) -> Self {
        Self(batch)
    }

    /// A table of the workspace.
    pub(crate) fn of(table: &columns::Table) -> PyResult<Self> {
        rows::arrow::to_batch(table).map(Self).map_err(|error| fault(&error.to_string()))
    }

    /// Tables with their names.
    pub(crate) fn named(
        tables: impl IntoIterator<Item = (&'static str, columns::Table)>,
    ) -> PyResult<Vec<(&'static str, Self)>> {
        tables.into_iter().map(|(name, table)| Ok((name, Self::of(&table)?))).collect()
    }
}

#[pymethods]
impl Table {
    /// Names of the columns, in order.
    #[getter]
    fn column_names(&self) -> Vec<String> {
        self.0.schema().fields().iter().map(|field| field.name().clone()).collect()
    }

    fn __len__(&self) -> usize {
        self.0.num_rows()
    }

    fn __repr__(&self) -> String {
        let (rows, columns) = (self.0.num_rows(), self.0.num_columns());
        format!("<cookstudy.Table of {rows} rows and {columns} columns>")
    }

    /// The table as an Arrow stream. It has the types that it has, whatever is asked for.
    #[pyo3(signature = (requested_schema = None))]
    fn __arrow_c_stream__<'py>(
        &self,
        py: Python<'py>,
        requested_schema: Option<Bound<'py, PyAny>>,
    ) -> PyResult<Bound<'py, PyCapsule>> {
        drop(requested_schema);
        guarded(|| {
            let reader = RecordBatchIterator::new([Ok(self.0.clone())], self.0.schema());
            let stream = FFI_ArrowArrayStream::new(Box::new(reader));
            PyCapsule::new_with_value(py, stream, c"arrow_array_stream")
        })
    }
}
