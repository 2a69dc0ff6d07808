#include "air/vapour.hpp"

#include <fmt/format.h>

#include <array>
#include <cmath>
#include <stdexcept>
#include <string>

#include "air/shown.hpp"
#include "numeric/roots.hpp"
#include "quantity/constants.hpp"

namespace leafwright {
namespace {

constexpr double lowest = -100, highest = 373.9;       // degC, of saturation_pressure
constexpr double lowest_dew = -90, highest_dew = 150;  // degC, of dew_point

using enum VapourPressure;

constexpr std::array<VapourPressureForm, 9> forms = {{
    {leaf_common, "leaf-common", -20, 50, true,
     "Buck 1981, Journal of Applied Meteorology 20:1527, with a fixed enhancement of 1.004",
     "from memory (that it is usual in leaf gas exchange, and the range; it reproduces the VPD of "
     "published records to 1e-9)"},
    {buck_1981, "buck-1981", -20, 50, false,
     "Buck 1981, Journal of Applied Meteorology 20:1527, without enhancement",
     "looked up (the range from memory)"},
    {iapws_1992, "iapws-1992", 0.01, 373.9, false,
     "IAPWS SR1-86(1992); Wagner & Pruss 1993, J. Phys. Chem. Ref. Data 22:783", "looked up"},
    {wmo_1957, "wmo-1957", 0, 100, false,
     "Goff 1957, as recommended by the World Meteorological Organization",
     "from memory (the results agree with a published table to 1e-5 hPa; the range from memory)"},
    {goff_gratch_1946, "goff-gratch-1946", 0, 100, false,
     "Goff & Gratch 1946, as in the Smithsonian Meteorological Tables, p. 350",
     "looked up (the range from memory)"},
    {iapws_if97, "iapws-if97", 0, 373.9, false,
     "IAPWS R7-97(2012), Industrial Formulation 1997, region 4",
     "from memory (coefficients; they give the published check points to all nine digits)"},
    {wmo_2008, "wmo-2008", -45, 60, false,
     "WMO-No. 8, Guide to Meteorological Instruments, 2008, Annex 4.B",
     "looked up (the range from memory)"},
    {alduchov_eskridge_1996, "alduchov-eskridge-1996", -40, 50, false,
     "Alduchov & Eskridge 1996, Journal of Applied Meteorology 35:601", "from memory"},
    {tetens_1930, "tetens-1930", 0, 50, false, "Tetens 1930, Zeitschrift fuer Geophysik 6:297",
     "from memory"},
}};

// a exp(b t/(c + t)), a in kPa
struct Magnus {
  double a, b, c;
};

const Magnus* magnus(VapourPressure form) {
  static constexpr Magnus common{0.61365, 17.502, 240.97};
  static constexpr Magnus buck{0.61121, 17.502, 240.97};
  static constexpr Magnus wmo{0.6112, 17.62, 243.12};
  static constexpr Magnus alduchov{0.61094, 17.625, 243.04};
  static constexpr Magnus tetens{0.61078, 17.2694, 237.3};
  switch (form) {
    case leaf_common:
      return &common;
    case buck_1981:
      return &buck;
    case wmo_2008:
      return &wmo;
    case alduchov_eskridge_1996:
      return &alduchov;
    case tetens_1930:
      return &tetens;
    default:
      return nullptr;
  }
}

double exp10(double x) {
  return std::pow(10.0, x);
}

double wagner_pruss(double t) {
  constexpr double Tc = 647.096, pc = 22064;  // K, kPa
  const double T = t + zero_celsius, h = 1 - T / Tc;
  const double sum = -7.85951783 * h + 1.84408259 * std::pow(h, 1.5) - 11.7866497 * std::pow(h, 3) +
                     22.6807411 * std::pow(h, 3.5) - 15.9618719 * std::pow(h, 4) +
                     1.80122502 * std::pow(h, 7.5);
  return pc * std::exp(Tc / T * sum);
}

double region4(double t) {
  constexpr std::array<double, 10> n = {
      0.11670521452767e4,  -0.72421316703206e6, -0.17073846940092e2, 0.12020824702470e5,
      -0.32325550322333e7, 0.14915108613530e2,  -0.48232657361591e4, 0.40511340542057e6,
      -0.23855557567849,   0.65017534844798e3};
  const double T = t + zero_celsius, theta = T + n[8] / (T - n[9]);
  const double A = theta * theta + n[0] * theta + n[1];
  const double B = n[2] * theta * theta + n[3] * theta + n[4];
  const double C = n[5] * theta * theta + n[6] * theta + n[7];
  const double root = 2 * C / (-B + std::sqrt(B * B - 4 * A * C));
  return 1000 * root * root * root * root;
}

double goff_1957(double t) {
  constexpr double T1 = 273.16;
  const double T = t + zero_celsius;
  return 0.1 * exp10(10.79574 * (1 - T1 / T) - 5.02800 * std::log10(T / T1) +
                     1.50475e-4 * (1 - exp10(-8.2969 * (T / T1 - 1))) +
                     0.42873e-3 * (exp10(4.76955 * (1 - T1 / T)) - 1) + 0.78614);
}

double goff_gratch(double t) {
  const double u = 373.16 / (t + zero_celsius);
  return 0.1 * exp10(-7.90298 * (u - 1) + 5.02808 * std::log10(u) -
                     1.3816e-7 * (exp10(11.344 * (1 - 1 / u)) - 1) +
                     8.1328e-3 * (exp10(-3.49149 * (u - 1)) - 1) + std::log10(1013.246));
}

}  // namespace

std::span<const VapourPressureForm> vapour_pressure_forms() {
  return forms;
}

const VapourPressureForm& vapour_pressure_form(VapourPressure id) {
  for (const VapourPressureForm& form : forms)
    if (form.id == id) return form;
  throw std::logic_error("vapour pressure form outside its enumeration");
}

Result<VapourPressure> find_vapour_pressure(std::string_view name) {
  std::string known;
  for (const VapourPressureForm& form : forms) {
    if (form.name == name) return form.id;
    known += (known.empty() ? "" : ", ") + std::string(form.name);
  }
  return fail(ErrorCode::usage, fmt::format("no vapour pressure form is called '{}'", name),
              "expected one of " + known, "the usual one in leaf gas exchange is leaf-common");
}

double saturation_pressure(VapourPressure form, double t) {
  if (!(t >= lowest && t <= highest))
    throw std::logic_error(fmt::format("saturation vapour pressure asked at {}", shown(t, "degC")));
  if (const Magnus* m = magnus(form)) return m->a * std::exp(m->b * t / (m->c + t));
  switch (form) {
    case iapws_1992:
      return wagner_pruss(t);
    case iapws_if97:
      return region4(t);
    case wmo_1957:
      return goff_1957(t);
    case goff_gratch_1946:
      return goff_gratch(t);
    default:
      throw std::logic_error("vapour pressure form outside its enumeration");
  }
}

Result<double> dew_point(VapourPressure form, double e) {
  const double low = saturation_pressure(form, lowest_dew);
  const double high = saturation_pressure(form, highest_dew);
  if (!(e >= low && e <= high))
    return fail(ErrorCode::unfit,
                fmt::format("the vapour pressure is {}, so it has no dew point", shown(e, "kPa")),
                fmt::format("expected {:.2g} to {:.4g} kPa", low, high),
                "check the water mole fraction, the pressure and their units");
  if (const Magnus* m = magnus(form)) {
    const double x = std::log(e / m->a);
    return m->c * x / (m->b - x);
  }
  // In the logarithm the function is nearly straight.
  const auto excess = [&](double t) { return std::log(saturation_pressure(form, t) / e); };
  const auto root = find_root(excess, lowest_dew, highest_dew, {.absolute = 1e-12});
  if (!root) return tl::make_unexpected(root.error());
  return root->x;
}

const char* enhancement_name(Enhancement enhancement) {
  switch (enhancement) {
    case Enhancement::none:
      return "none";
    case Enhancement::buck_1981:
      return "buck-1981";
    case Enhancement::wmo_2008:
      return "wmo-2008";
  }
  throw std::logic_error("enhancement outside its enumeration");
}

Result<Enhancement> find_enhancement(std::string_view name) {
  for (const Enhancement e : {Enhancement::none, Enhancement::buck_1981, Enhancement::wmo_2008})
    if (name == enhancement_name(e)) return e;
  return fail(ErrorCode::usage, fmt::format("no enhancement factor is called '{}'", name),
              "expected one of none, buck-1981, wmo-2008",
              "leaf-common already holds one: leave it at none there");
}

double enhancement_factor(Enhancement enhancement, double p) {
  const double hPa = 10 * p;
  switch (enhancement) {
    case Enhancement::none:
      return 1;
    case Enhancement::buck_1981:
      return 1.0007 + 3.46e-6 * hPa;
    case Enhancement::wmo_2008:
      return 1.0016 + 3.15e-6 * hPa - 0.074 / hPa;
  }
  throw std::logic_error("enhancement outside its enumeration");
}

double saturation_pressure(VapourPressure form, Enhancement enhancement, double t, double p) {
  return enhancement_factor(enhancement, p) * saturation_pressure(form, t);
}

Result<void> check_enhancement(VapourPressure form, Enhancement enhancement) {
  if (enhancement == Enhancement::none || !vapour_pressure_form(form).moist) return {};
  return fail(ErrorCode::usage,
              fmt::format("{} is asked for on top of {}, which holds an enhancement of 1.004",
                          enhancement_name(enhancement), vapour_pressure_form(form).name),
              "expected enhancement none with this form",
              "choose buck-1981 to apply a factor of your own choice");
}

}  // namespace leafwright
