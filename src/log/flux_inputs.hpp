// The channels and values that a row's fluxes are computed from. Used by flux.cpp only.
#pragma once

#include <array>
#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "log/flux.hpp"
#include "log/flux_values.hpp"

namespace leafwright {

/// What holds for the rows of one curve.
struct CurveInputs {
  FluxOptions options;
  InputSd sd;
  bool noisy = false;
  ChosenValue area, cover, gbw, overpressure, stomatal_ratio, Tleaf, Patm, volume;
  ChosenValue leak, CO2_ambient, water_leak, H2O_ambient;
  LeafArea leaf;  ///< cm2 is filled in by row
  AreaBasis per = AreaBasis::projected;
};

class FluxInputs {
 public:
  FluxInputs(const FluxSource& source, const FluxChoice& choice)
      : source_(source), choice_(choice) {}

  /// Errors: unreadable, for a quantity that the log does not have.
  Result<void> find_columns();
  /// Values of one curve. Errors: usage, for choices that do not fit together.
  Result<CurveInputs> curve(const std::string& id, const std::vector<std::size_t>& rows,
                            std::vector<ValueSource>& sources);

  /// What the curve says, then what the row's own cells say.
  void fill_curve(std::size_t row, CurveInputs& c, FluxInput& input) const;
  void fill(std::size_t row, FluxInput& input) const;
  /// Why a row's text cannot be used; "" where it can.
  [[nodiscard]] std::string why_not(std::size_t row) const;
  /// "CO2r is missing", or what stands there in place of a number; "" where nothing lacks.
  [[nodiscard]] std::string lacking(std::size_t row, const FluxInput& input) const;
  /// 1 where a row repeats the one before in everything that was measured.
  [[nodiscard]] std::vector<char> repeats() const;
  /// The log's own `use` and `why`.
  void honour_use(FluxRows& rows) const;

  const Channel* Tair = nullptr;
  const Channel* E = nullptr;
  const Channel* A = nullptr;
  std::vector<double> CO2s, H2Os;  ///< by row; equalisations that are still to be applied taken off
  Notes notes;

 private:
  struct Needed {
    const char* symbol;
    const Channel* channel = nullptr;
    double FluxInput::*value = nullptr;
  };
  Result<void> find_streams();
  [[nodiscard]] std::vector<double> sample(const char* symbol, const char* reference,
                                           const char* difference) const;
  void take_off_equalisations();
  [[nodiscard]] std::string lacking_text(const char* symbol, std::size_t row) const;
  Result<void> complete(CurveInputs& c, const std::string& id);
  void noise_of(CurveInputs& c, const Sample* sample) const;
  void note_gbw(const CurveInputs& c);

  const FluxSource& source_;
  const FluxChoice& choice_;
  const Instrument none_{};
  std::vector<Needed> needed_;
  bool gbw_noted_ = false;
};

}  // namespace leafwright
