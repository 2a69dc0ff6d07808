#include "log/log.hpp"

#include <algorithm>
#include <charconv>
#include <cmath>

#include "base/text.hpp"
#include "log/column.hpp"
#include "quantity/symbol.hpp"

namespace leafwright {

namespace {

constexpr double missing = std::numeric_limits<double>::quiet_NaN();
constexpr std::size_t problems_shown = 10;

/// The table's column for a title of a map: as written, without its unit, or "#3".
Result<std::size_t> mapped_column(const Table& table, const MappedColumn& mapped) {
  if (mapped.title.size() > 1 && mapped.title.front() == '#') {
    std::size_t number = 0;
    const char* end = mapped.title.data() + mapped.title.size();
    const auto read = std::from_chars(mapped.title.data() + 1, end, number);
    if (read.ec == std::errc() && read.ptr == end) {
      if (number >= 1 && number <= table.columns()) return number - 1;
      return fail(ErrorCode::unreadable, "column " + mapped.title + " for " + mapped.symbol,
                  "a number from 1 to " + std::to_string(table.columns()) + ", the columns of " +
                      table.file(),
                  "correct the map", mapped.place);
    }
  }
  std::vector<std::size_t> found;
  for (std::size_t i = 0; i < table.columns(); ++i) {
    if (table.title(i) == mapped.title) found.push_back(i);
  }
  if (found.size() == 1) return found.front();
  if (found.empty() && table.has(mapped.title)) return table.find(mapped.title);
  if (found.empty()) {
    Error error = missing_column(table, mapped.title, "the column of " + mapped.symbol);
    error.place = mapped.place.file.empty() ? error.place : mapped.place;
    error.hint += "; or correct the map";
    return fail(std::move(error));
  }
  return fail(ErrorCode::unreadable,
              "column '" + shortened(mapped.title) + "' is there " + std::to_string(found.size()) +
                  " times",
              "one for " + mapped.symbol,
              "name it by its position: \"#" + std::to_string(found.front() + 1) + "\"",
              mapped.place);
}

}  // namespace

const Channel* Log::find(std::string_view symbol) const {
  for (const Channel& channel : channels_) {
    if (channel.symbol == symbol) return &channel;
  }
  return nullptr;
}

std::optional<double> Log::value(std::string_view symbol, std::size_t row) const {
  const Channel* channel = find(symbol);
  if (channel == nullptr || std::isnan(channel->values.at(row))) return std::nullopt;
  return channel->values[row];
}

Place Log::place(const Channel& channel, std::size_t row) const {
  return channel.column == Channel::no_column ? table_->row_place(row)
                                              : table_->place(channel.column, row);
}

std::optional<std::size_t> Log::text_column(std::string_view symbol) const {
  for (const TextColumn& text : texts_) {
    if (text.symbol == symbol) return text.column;
  }
  return std::nullopt;
}

std::string_view Log::text(std::string_view symbol, std::size_t row) const {
  const auto column = text_column(symbol);
  return column ? trim(table_->text(*column, row)) : std::string_view();
}

void Log::read_values(Channel& channel, const std::vector<Conversion>& conversions, double factor) {
  std::size_t bad = 0;
  channel.values.assign(rows(), missing);
  for (std::size_t row = 0; row < rows(); ++row) {
    const auto number = table_->number(channel.column, row);
    if (number) {
      if (*number) channel.values[row] = conversions[table_->block_of(row)](factor * **number);
    } else if (++bad <= problems_shown) {
      problems_.push_back(number.error());
    }
  }
  if (bad > problems_shown) {
    problems_.push_back({ErrorCode::unreadable, table_->row_place(0),
                         std::to_string(bad - problems_shown) + " more cells of column '" +
                             table_->name(channel.column) + "' are no numbers",
                         "", ""});
  }
}

Result<void> Log::take_text(const MappedColumn& mapped) {
  if (text_column(mapped.symbol)) {
    return fail(ErrorCode::unreadable, mapped.symbol + " is mapped twice", "once",
                "remove one of the two from the map", mapped.place);
  }
  const auto column = mapped_column(*table_, mapped);
  if (!column) return fail(column.error());
  texts_.push_back({mapped.symbol, *column});
  return {};
}

/// From the unit of a block. Where the column is a partial pressure, to kPa, and `partial` is set.
Result<Conversion> Log::convert(const MappedColumn& mapped, std::size_t column, std::size_t block,
                                bool& partial) {
  const std::string& stated = mapped.unit.empty() ? table_->unit(column, block) : mapped.unit;
  const auto unit = parse_unit(stated);
  if (unit && !unit->caution.empty() && block == 0) {
    notes_.push_back({NoteLevel::caution, "unit-open", mapped.symbol + ": " + unit->caution});
  }
  const Unit target = known_unit(find_symbol(mapped.symbol)->unit);
  const Unit pressure = known_unit("kPa");
  const bool fraction = target.dimension == known_unit("mol mol-1").dimension;
  if (unit && fraction && unit->dimension == pressure.dimension) {
    partial = true;
    return conversion(*unit, pressure);
  }
  auto made = unit ? conversion(*unit, target) : fail(unit.error());
  if (made) return made;
  Error error = made.error();
  error.found =
      mapped.symbol + " from column '" + shortened(table_->name(column)) + "': " + error.found;
  error.place = mapped.unit.empty() ? table_->unit_place(column, block) : mapped.place;
  return fail(std::move(error));
}

Result<void> Log::take_column(const MappedColumn& mapped, bool own) {
  const Symbol* symbol = find_symbol(mapped.symbol);
  if (symbol == nullptr) {
    return fail(ErrorCode::unreadable, "'" + shortened(mapped.symbol) + "' is no quantity",
                "a symbol of the open reporting format", suggest_symbol(mapped.symbol),
                mapped.place);
  }
  if (symbol->kind != SymbolKind::number) return take_text(mapped);
  if (find(mapped.symbol) != nullptr) {
    return fail(ErrorCode::unreadable, mapped.symbol + " is mapped twice", "once",
                "remove one of the two from the map", mapped.place);
  }
  const auto column = mapped_column(*table_, mapped);
  if (!column) return fail(column.error());
  Channel channel{mapped.symbol, *column, mapped.unit, {}};
  std::vector<Conversion> conversions;
  std::size_t partial_blocks = 0, stating = 0;
  for (std::size_t block = 0; block < table_->layout().blocks.size(); ++block) {
    const std::string& stated = mapped.unit.empty() ? table_->unit(*column, block) : mapped.unit;
    if (stated.empty()) {
      conversions.emplace_back();
      continue;
    }
    bool partial = false;
    const auto made = convert(mapped, *column, block, partial);
    if (!made) return fail(made.error());
    conversions.push_back(*made);
    ++stating;
    partial_blocks += partial ? 1U : 0U;
    if (channel.unit.empty()) channel.unit = stated;
  }
  if (partial_blocks > 0 && partial_blocks < conversions.size()) {
    return fail(ErrorCode::unreadable,
                mapped.symbol + " is a partial pressure in some blocks of the log only",
                "one kind of unit in all blocks", "state the unit of each block",
                table_->unit_place(*column, 0));
  }
  if (stating == 0) {
    channel.unit = symbol->unit;
    notes_.push_back(
        {NoteLevel::info, "unit-assumed",
         mapped.symbol + ": no unit is stated, taken as " + std::string(symbol->unit)});
  }
  read_values(channel, conversions, mapped.factor);
  if (partial_blocks > 0) partial_.push_back({mapped.symbol, mapped.place, own});
  channels_.push_back(std::move(channel));
  return {};
}

/// Partial pressures over the total pressure of each row.
Result<void> Log::divide_by_pressure() {
  // Copies: a channel that cannot be converted is taken out, which moves the others.
  const auto values_of = [this](const char* symbol) {
    const Channel* channel = find(symbol);
    return channel == nullptr ? std::vector<double>() : channel->values;
  };
  const std::vector<double> patm = values_of("Patm"), over = values_of("chamber_overpressure");
  for (const Partial& partial : partial_) {
    const auto at = std::find_if(channels_.begin(), channels_.end(),
                                 [&](const Channel& one) { return one.symbol == partial.symbol; });
    Channel& channel = *at;
    if (patm.empty()) {
      Error error{
          ErrorCode::unreadable, partial.place,
          channel.symbol + " is a partial pressure (" + channel.unit + "), and the log has no Patm",
          "the air pressure of each record, to make a mole fraction of it",
          "map a column to Patm, or give it under [constants]"};
      if (!partial.own) return fail(std::move(error));
      error.place = table_->unit_place(channel.column, 0);
      problems_.push_back(std::move(error));
      channels_.erase(at);
      continue;
    }
    // kPa over kPa is mol mol-1.
    const double scale =
        (*conversion(known_unit("mol mol-1"), known_unit(find_symbol(channel.symbol)->unit)))(1);
    for (std::size_t row = 0; row < rows(); ++row) {
      const double extra = over.empty() || std::isnan(over[row]) ? 0 : over[row];
      channel.values[row] *= scale / (patm[row] + extra);
    }
    notes_.push_back({NoteLevel::info, "partial-pressure",
                      channel.symbol + ": " + channel.unit + " became " +
                          std::string(find_symbol(channel.symbol)->unit) + " by each row's Patm" +
                          (over.empty() ? "" : " + chamber_overpressure")});
  }
  return {};
}

void Log::add_derived(const char* symbol, std::initializer_list<const char*> from,
                      double (*made)(const double* values), const char* how) {
  if (find(symbol) != nullptr) return;
  std::vector<const Channel*> sources;
  for (const char* one : from) sources.push_back(find(one));
  if (std::find(sources.begin(), sources.end(), nullptr) != sources.end()) return;
  Channel channel{symbol, sources.front()->column, sources.front()->unit, {}};
  std::vector<double> row_values(sources.size());
  for (std::size_t row = 0; row < rows(); ++row) {
    for (std::size_t i = 0; i < sources.size(); ++i) row_values[i] = sources[i]->values[row];
    channel.values.push_back(made(row_values.data()));
  }
  notes_.push_back({NoteLevel::info, "derived", std::string(symbol) + ": " + how});
  channels_.push_back(std::move(channel));
}

/// Streams that the log states in another way. Water first: CO2 per dry air needs it.
void Log::derive() {
  const auto wet = [](const double* v) { return v[0] / (1 + v[0] / 1000); };
  const auto moist = [](const double* v) { return v[0] * (1 - v[1] / 1000); };
  const auto less = [](const double* v) { return v[0] - v[1]; };
  const auto more = [](const double* v) { return v[0] + v[1]; };
  add_derived("H2Or", {"H2Or_dry"}, wet, "from H2Or_dry");
  add_derived("H2Os", {"H2Os_dry"}, wet, "from H2Os_dry");
  add_derived("H2Or", {"H2Os", "dH2O"}, less, "H2Os less dH2O");
  add_derived("H2Os", {"H2Or", "dH2O"}, more, "H2Or plus dH2O");
  add_derived("CO2r", {"CO2r_dry", "H2Or"}, moist, "from CO2r_dry and H2Or");
  add_derived("CO2s", {"CO2s_dry", "H2Os"}, moist, "from CO2s_dry and H2Os");
  add_derived("CO2r", {"CO2s", "dCO2"}, less, "CO2s less dCO2");
  add_derived("CO2s", {"CO2r", "dCO2"}, more, "CO2r plus dCO2");
}

/// Columns that stand under a symbol of their own.
void Log::take_own_columns() {
  for (std::size_t i = 0; i < table_->columns(); ++i) {
    const Symbol* symbol = find_symbol(table_->name(i));
    if (symbol == nullptr) continue;
    if (find(symbol->name) != nullptr || text_column(symbol->name)) continue;
    const bool taken_as_other =
        std::any_of(channels_.begin(), channels_.end(),
                    [&](const Channel& channel) { return channel.column == i; }) ||
        std::any_of(texts_.begin(), texts_.end(),
                    [&](const TextColumn& text) { return text.column == i; });
    if (taken_as_other) continue;
    MappedColumn own{std::string(symbol->name), "#" + std::to_string(i + 1), "", {}};
    // A column that nobody asked for by a map must not stop the log.
    if (auto taken = take_column(own, true); taken) {
      map_.columns.push_back(std::move(own));
    } else {
      problems_.push_back(taken.error());
    }
  }
}

Result<Log> read_log(std::shared_ptr<const Table> table, const ColumnMap& map) {
  Log log;
  log.table_ = std::move(table);
  log.map_ = map;
  for (const MappedColumn& mapped : map.columns) {
    if (auto taken = log.take_column(mapped); !taken) return fail(taken.error());
  }
  for (const MappedConstant& constant : map.constants) {
    if (log.find(constant.symbol) != nullptr) {
      return fail(ErrorCode::unreadable, constant.symbol + " is both a column and a constant",
                  "one of the two", "remove one of them from the map", constant.place);
    }
    log.channels_.push_back(
        {constant.symbol, Channel::no_column, "", std::vector<double>(log.rows(), constant.value)});
  }
  log.take_own_columns();
  if (auto ok = log.divide_by_pressure(); !ok) return fail(ok.error());
  log.derive();
  return log;
}

}  // namespace leafwright
