// Reads a table of A-Ci points and fits every curve in it, with the installed library alone.
#include <fstream>
#include <iostream>
#include <iterator>
#include <leafwright/fit/fit.hpp>
#include <leafwright/log/points.hpp>
#include <leafwright/table/table.hpp>
#include <string>

int main(int argc, char** argv) {
  if (argc != 2) return std::cerr << "usage: fit_csv POINTS.csv\n", 2;
  std::ifstream file(argv[1], std::ios::binary);
  std::string bytes((std::istreambuf_iterator<char>(file)), {});

  const auto points =
      leafwright::read_table(std::move(bytes), argv[1])
          .and_then([](const leafwright::Table& table) { return leafwright::cut_points(table); });
  if (!points) return std::cerr << points.error().text() << '\n', 3;

  // The defaults of the program; options.set(...) changes one, with its value checked.
  const leafwright::Settings settings(leafwright::fit_settings());
  const auto options = leafwright::fit_options(settings);
  if (!options) return std::cerr << options.error().text() << '\n', 2;

  const leafwright::CampaignFit campaign = leafwright::fit_curves(points->curves, *options);
  for (const leafwright::CurveFit& fit : campaign.fits) {
    std::cout << fit.curve_id << ": Vcmax ";
    if (fit.Vcmax.value) std::cout << *fit.Vcmax.value << ' ' << fit.Vcmax.unit << ", ";
    std::cout << leafwright::status_name(fit.Vcmax.status)
              << (fit.certified ? ", certified\n" : ", not certified\n");
  }
  for (const auto& failed : campaign.failed)
    std::cerr << failed.curve_id << ": " << failed.why << '\n';
  return campaign.failed.empty() && points->failed.empty() ? 0 : 1;
}
