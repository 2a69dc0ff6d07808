// The samples table: what is known of each leaf and stands in no log (docs/formats/samples.md). A
// delimited table with one row a curve, keyed by curve_id, or by file and a window of time.
#pragma once

#include <cstddef>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "air/balance.hpp"
#include "base/error.hpp"
#include "base/note.hpp"
#include "table/table.hpp"

namespace leafwright {

/// One row. Values that its cells leave empty are empty.
struct Sample {
  Place place;
  std::string curve_id;           ///< as in the log, before `rename`; names the curve of a window
  std::string file;               ///< "" : any file
  std::string from, to;           ///< window; moments as time.hpp reads them; "" : open
  std::string rename;             ///< the right id of a mistyped one
  std::string reason;             ///< why it was renamed
  std::optional<double> area;     ///< cm2
  std::optional<double> area_sd;  ///< cm2
  std::optional<AreaBasis> area_basis;
  std::string area_method;
  std::optional<double> cover;
  std::optional<double> half_total_ratio;
  std::optional<double> stomatal_ratio;
  std::optional<double> gbw;                 ///< mmol m-2 s-1
  std::map<std::string, std::string> other;  ///< species, treatment and all further columns

  [[nodiscard]] bool has_window() const { return !from.empty() || !to.empty(); }
  /// The id that results carry.
  [[nodiscard]] const std::string& name() const { return rename.empty() ? curve_id : rename; }
};

struct Samples {
  std::string file;
  std::vector<Sample> rows;
  std::vector<std::string> other;  ///< names of the further columns, in order
  Notes notes;

  /// The row of a curve: by the id as the log has it, or after renaming. Null: none.
  [[nodiscard]] const Sample* find(const std::string& curve_id, const std::string& log) const;
  /// Rows with a window in this log, in order.
  [[nodiscard]] std::vector<const Sample*> windows(const std::string& log) const;
};

/// Reads a samples table. Two rows of one curve that say the same are noted. Errors: unreadable,
/// for a table without curve_id, a cell or unit that cannot be read, a value out of range, or a
/// row without an id; refused, for two rows of one curve (or two windows that are one) that say
/// different things, naming both.
Result<Samples> read_samples(const Table& table);

/// Do two file names mean one file? Folders are compared only where both have them.
bool same_log(const std::string& a, const std::string& b);

}  // namespace leafwright
