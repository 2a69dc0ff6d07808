#include "study/pool_step.hpp"

#include "report/fit_csv.hpp"
#include "study/pool_table.hpp"
#include "study/role_choice.hpp"
#include "table/table.hpp"

namespace leafwright {
namespace {

struct Pooled {
  PoolRun run;
  PoolDocument document;
};

}  // namespace

Result<void> check_pool_section(const Study& study) {
  const Settings& pool = study.settings(pool_settings());
  if (!study.section("pool").stated() || pool.text("pool") != "information") return {};
  const Place place{study.file, 0, 0, ""};
  if (!pool.list("parameter").empty()) {
    return fail(ErrorCode::usage, "[pool] has parameter and pool = \"information\"",
                "one of the two", "information pools Vcmax, J and Rday together", place);
  }
  if (pool.text("bounds") == "censored") {
    return fail(ErrorCode::usage, "[pool] has bounds = \"censored\" and pool = \"information\"",
                "one of the two", "a leaf's bound is left out there, its other values are used",
                place);
  }
  return {};
}

Result<std::shared_ptr<const PoolDocument>> study_pool(const StudyRun& run) {
  const Settings& pool = run.study.settings(pool_settings());
  const Settings& rows = run.study.settings(pool_rows_settings());
  const auto choice = choose_role(run, rows.text("role"));
  if (!choice) return fail(choice.error());
  const auto table = read_table(fit_csv(choice->document(run)), "fits.csv");
  if (!table) return fail(table.error());
  auto means = pool_fits(*table, nullptr, pool, rows.list("only"));
  if (!means) return fail(means.error());
  auto out = std::make_shared<Pooled>();
  out->run = std::move(*means);
  const Notes notes = choice->notes();
  out->run.notes.insert(out->run.notes.begin(), notes.begin(), notes.end());
  out->document.run = &out->run;
  out->document.settings = {&pool, &rows};
  out->document.inputs = run.inputs;
  out->document.level = pool.number("level");
  return std::shared_ptr<const PoolDocument>(out, &out->document);
}

}  // namespace leafwright
