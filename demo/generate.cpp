// Writes points.csv and truth.csv of the invented campaign into a folder:
//   generate_demo FOLDER
#include <cstdio>
#include <fstream>
#include <string>

#include "campaign.hpp"

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
  const bool written = write(folder + "/points.csv", points_csv(campaign)) &&
                       write(folder + "/truth.csv", truth_csv(campaign));
  return written ? 0 : 3;
}
