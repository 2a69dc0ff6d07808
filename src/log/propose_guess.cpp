#include "log/propose_guess.hpp"

#include <algorithm>
#include <set>

#include "base/text.hpp"
#include "log/time_text.hpp"
#include "quantity/unit.hpp"

namespace leafwright {
namespace {

struct TextLook {
  std::size_t column = 0;
  bool date = false, time = false;
  std::vector<bool> starts;  ///< rows at which the text changes
  std::size_t runs = 0, kinds = 0;
};

/// Empty where the column is not one of texts.
std::vector<TextLook> text_columns(const Table& table) {
  std::vector<TextLook> out;
  for (std::size_t c = 0; c < table.columns(); ++c) {
    TextLook look;
    look.column = c;
    std::size_t texts = 0, dates = 0, times = 0;
    std::set<std::string_view> kinds;
    std::string_view before;
    for (std::size_t row = 0; row < table.rows(); ++row) {
      const std::string_view text = table.text(c, row);
      const bool is_text = table.value(c, row).kind == CellKind::text;
      texts += is_text ? 1U : 0U;
      dates += is_date_text(trim(text)) ? 1U : 0U;
      times += is_time_text(trim(text)) && !is_date_text(trim(text)) ? 1U : 0U;
      kinds.insert(text);
      look.starts.push_back(row == 0 || text != before);
      look.runs += look.starts.back() ? 1U : 0U;
      before = text;
    }
    if (10 * texts < 9 * table.rows()) continue;
    look.kinds = kinds.size();
    look.date = dates == texts;
    look.time = times == texts;
    out.push_back(std::move(look));
  }
  return out;
}

void guess(const Table& table, MapProposal& proposal, const char* symbol,
           const std::vector<std::size_t>& columns, const std::string& evidence,
           const std::string& unit = "") {
  if (columns.empty() || table.has(symbol)) return;
  if (columns.size() > 1) {
    std::vector<std::string> names;
    for (const std::size_t c : columns) names.push_back(column_reference(table, c));
    proposal.open.push_back(std::string(symbol) + ": " + join(names, ", ", 6) +
                            " look alike; none is taken");
    return;
  }
  ProposedColumn one;
  one.column = columns.front();
  one.mapped.symbol = symbol;
  one.mapped.title = column_reference(table, columns.front());
  one.mapped.unit = unit;
  one.standing = Standing::guess;
  one.evidence = evidence;
  proposal.columns.push_back(std::move(one));
}

/// Texts that name blocks of rows: of several, the one that every other one only groups.
std::vector<std::size_t> curve_names(const Table& table, const std::vector<TextLook>& texts) {
  std::vector<const TextLook*> named;
  for (const TextLook& look : texts) {
    if (look.date || look.time || look.kinds < 2) continue;
    if (look.runs == look.kinds && 4 * look.runs <= table.rows()) named.push_back(&look);
  }
  std::vector<std::size_t> out;
  for (const TextLook* one : named) {
    const bool finest = std::all_of(named.begin(), named.end(), [&](const TextLook* other) {
      for (std::size_t row = 0; row < table.rows(); ++row) {
        if (other->starts[row] && !one->starts[row]) return false;
      }
      return true;
    });
    if (finest) out.push_back(one->column);
  }
  return out;
}

bool taken(const MapProposal& proposal, std::size_t column) {
  return std::any_of(proposal.columns.begin(), proposal.columns.end(),
                     [&](const ProposedColumn& one) { return one.column == column; });
}

/// Columns that state a photon flux density and hold one.
std::vector<std::size_t> light_columns(const Table& table, const MapProposal& proposal) {
  const Unit target = known_unit("umol m-2 s-1");
  std::vector<std::size_t> out;
  for (std::size_t c = 0; c < table.columns(); ++c) {
    const auto stated = parse_unit(table.unit(c, 0));
    if (table.unit(c, 0).empty() || !stated || taken(proposal, c)) continue;
    const auto convert = conversion(*stated, target);
    if (!convert || !convert->changes_nothing()) continue;
    double low = 1e9, high = -1e9;
    for (std::size_t row = 0; row < table.rows(); ++row) {
      const CellValue cell = table.value(c, row);
      if (cell.kind != CellKind::number) continue;
      low = std::min(low, cell.number);
      high = std::max(high, cell.number);
    }
    if (low >= 0 && high > 150 && high <= 3000) out.push_back(c);
  }
  return out;
}

}  // namespace

void add_guesses(const Table& table, MapProposal& proposal) {
  const std::vector<TextLook> texts = text_columns(table);
  std::vector<std::size_t> dates, times;
  for (const TextLook& look : texts) {
    if (look.date) dates.push_back(look.column);
    if (look.time) times.push_back(look.column);
  }
  guess(table, proposal, "date", dates, "the only column of dates");
  guess(table, proposal, "time", times, "the only column of times of day");
  guess(table, proposal, "curve_id", curve_names(table, texts), "a text for each block of rows");
  guess(table, proposal, "Qin", light_columns(table, proposal),
        "the only other column that states umol m-2 s-1 and is never below 0", "umol m-2 s-1");
}

}  // namespace leafwright
