// Writes points.csv, truth.csv, samples.csv and the logs of the invented campaign into a folder,
// and the curves at four temperatures into FOLDER/temperature, which must be there:
//   generate_demo FOLDER
#include <cstdio>
#include <fstream>
#include <string>

#include "campaign.hpp"
#include "ramps.hpp"
#include "temperature.hpp"

namespace {

bool write(const std::string& path, const std::string& text) {
  std::ofstream file(path, std::ios::binary);
  file << text;
  file.close();
  if (!file) std::fprintf(stderr, "cannot write %s\n", path.c_str());
  return static_cast<bool>(file);
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 2) {
    std::fprintf(stderr, "usage: generate_demo FOLDER\n");
    return 2;
  }
  using namespace leafwright::demo;
  const std::string folder = argv[1];
  const Campaign campaign = make_campaign(demo_seed);
  const RampDay ramps = make_ramp_day(campaign, demo_seed);
  const bool written = write(folder + "/points.csv", points_csv(campaign)) &&
                       write(folder + "/truth.csv", truth_csv(campaign) + ramps.truth) &&
                       write(folder + "/samples.csv", samples_csv(campaign) + ramps.samples) &&
                       write(folder + "/terrace-empty.txt", ramps.empty) &&
                       write(folder + "/terrace-ramps.txt", ramps.ramps) &&
                       write(folder + "/terrace-1.txt", terrace_log(campaign, 0)) &&
                       write(folder + "/terrace-2.txt", terrace_log(campaign, 1)) &&
                       write(folder + "/terrace-3.txt", terrace_log(campaign, 2));
  const TemperatureStudy warm = make_temperature_study(demo_seed);
  const bool also = write(folder + "/temperature/bench.csv", warm.log) &&
                    write(folder + "/temperature/samples.csv", warm.samples) &&
                    write(folder + "/temperature/truth.csv", warm.truth);
  return written && also ? 0 : 3;
}
