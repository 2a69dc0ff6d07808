// The curves at four temperatures are what the program makes, and their truth is what it says.
#include "temperature.hpp"

#include <gtest/gtest.h>

#include <fstream>
#include <iterator>

#include "campaign.hpp"

namespace leafwright::demo {
namespace {

std::string read(const std::string& name) {
  std::ifstream file(std::string(LEAFWRIGHT_DEMO_DIR) + "/temperature/" + name, std::ios::binary);
  return {std::istreambuf_iterator<char>(file), std::istreambuf_iterator<char>()};
}

TEST(TemperatureStudy, IsWhatTheProgramMakes) {
  const TemperatureStudy made = make_temperature_study(demo_seed);
  EXPECT_TRUE(made.log == read("bench.csv"));
  EXPECT_TRUE(made.samples == read("samples.csv"));
  EXPECT_TRUE(made.truth == read("truth.csv"));
}

}  // namespace
}  // namespace leafwright::demo
