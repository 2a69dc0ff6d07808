// What physics cannot tell: time, date, curve_id, Qin, by their looks. Used by propose.cpp.
#pragma once

#include <cstddef>
#include <string>

#include "log/propose.hpp"

namespace leafwright {

/// The title of a column where it is one of its own, else "#3".
std::string column_reference(const Table& table, std::size_t column);

/// Adds a column as a guess where exactly one looks like it, and says where several do. A quantity
/// that the table has under its own name is left alone.
void add_guesses(const Table& table, MapProposal& proposal);

}  // namespace leafwright
