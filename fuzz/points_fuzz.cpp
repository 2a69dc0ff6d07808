// Any bytes at all, through everything that is done with a table before the fit: curves cut from
// it, a look at it, and its cells written as CSV and read again.
#include <cmath>
#include <cstdint>
#include <cstdlib>
#include <string>

#include "log/look.hpp"
#include "log/points.hpp"
#include "table/csv.hpp"
#include "table/table.hpp"

namespace {

using leafwright::Table;

void check_curves(const Table& table) {
  leafwright::PointsOptions given;
  given.tleaf = 25;
  given.patm = 100;
  for (const auto& options : {leafwright::PointsOptions{}, given}) {
    const auto points = leafwright::cut_points(table, options);
    if (!points) {
      if (points.error().text().empty()) std::abort();
      continue;
    }
    for (const leafwright::Curve& curve : points->curves) {
      bool any = false;
      for (const leafwright::CurveRow& row : curve.rows) {
        any = any || row.use;
        if (row.use != row.why.empty()) std::abort();
        if (row.use && !(std::isfinite(row.A) && std::isfinite(row.Tleaf))) std::abort();
        if (row.place.line == 0) std::abort();
      }
      if (!any) std::abort();
    }
    for (const auto& failed : points->failed) {
      if (failed.why.empty()) std::abort();
    }
  }
}

// Cells that hold a line end, a tab or blanks at their ends may not come back the same: the reader
// trims. All others must.
void check_round_trip(const Table& table) {
  if (table.rows() == 0 || table.columns() < 2) return;
  leafwright::CsvWriter csv;
  for (std::size_t c = 0; c < table.columns(); ++c) csv.text("t" + std::to_string(c));
  csv.end_row();
  for (std::size_t r = 0; r < table.rows(); ++r) {
    for (std::size_t c = 0; c < table.columns(); ++c) csv.text(table.text(c, r));
    csv.end_row();
  }
  leafwright::LayoutChoice choice;
  choice.delimiter = ',';
  choice.decimal = table.layout().decimal;
  choice.header_line = 1;
  choice.units_line = 0;
  choice.encoding = leafwright::Encoding::utf8;
  const auto again = leafwright::read_table(csv.take(), "again", choice);
  if (!again) std::abort();
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string bytes(reinterpret_cast<const char*>(data), size);
  const auto table = leafwright::read_table(bytes, "fuzz");
  if (!table) return 0;
  check_curves(*table);
  const leafwright::LookReport report = leafwright::look(*table);
  if (report.columns.size() != table->columns() || report.proved) std::abort();
  check_round_trip(*table);
  return 0;
}
