#include "study/outputs.hpp"

#include <fmt/format.h>

#include "base/text.hpp"
#include "report/agree_report.hpp"
#include "report/campaign_report.hpp"
#include "report/fit_csv.hpp"
#include "report/fit_json.hpp"
#include "report/fit_text.hpp"
#include "report/joint_report.hpp"
#include "report/json_parts.hpp"
#include "report/json_writer.hpp"
#include "report/pair_report.hpp"
#include "report/pool_report.hpp"
#include "report/ramp_report.hpp"
#include "report/response_report.hpp"
#include "report/run_report.hpp"
#include "report/text_table.hpp"
#include "study/figures.hpp"

namespace leafwright {

std::string points_meta_json(const StudyRun& run) {
  const FitDocument document = run.document();
  JsonWriter json;
  json.open_object();
  write_made_from(json, "run", run.inputs, document.settings);
  json.field("study", run.about.study);
  json.key("columns").open_array();
  for (const auto& [name, unit] : run.points_columns) {
    json.open_object(JsonWriter::Shape::line).field("name", name).field("unit", unit).close();
  }
  json.close().key("logs").open_array();
  for (const LogRecord& log : run.about.logs) {
    json.open_object().field("file", log.file).field("role", log.role).field("rows", log.rows);
    json.field("curves", log.curves).field("cut", log.cut).key("sources").open_array();
    for (const SourceLine& source : log.sources) {
      json.open_object(JsonWriter::Shape::line).field("quantity", source.quantity);
      json.field("from", source.from).field("value", source.value);
      json.field("others", join(source.others, "; ")).field("disagree", source.disagree).close();
    }
    json.close().field("failed", log.failed).close();
  }
  json.close();
  if (!run.about.paths.empty()) write_paths(json, run.about.paths);
  if (!run.about.ramps.empty()) write_ramps(json, run.about.ramps);
  if (!run.about.pairs.empty()) write_pairs(json, run.about.pairs);
  write_notes(json, run.notes);
  json.close();
  return json.finish();
}

namespace {

ResponseDocument responses_of(const StudyRun& run) {
  return {&*run.about.responses, {run.about.response_settings}, run.inputs};
}

Result<void> add_responses(const StudyRun& run, const std::string& folder,
                           std::vector<FileToWrite>& files) {
  if (!run.about.responses) return {};
  const ResponseDocument document = responses_of(run);
  files.push_back({folder + "/responses.csv", response_csv(*document.run)});
  files.push_back({folder + "/responses.csv.meta.json", response_meta_json(document)});
  files.push_back({folder + "/responses.json", response_json(document)});
  auto drawn = draw_responses(*document.run, run.study.settings(figure_settings()),
                              folder + "/figures/responses");
  if (!drawn) return fail(drawn.error());
  std::move(drawn->begin(), drawn->end(), std::back_inserter(files));
  return {};
}

std::string responses_text(const StudyRun& run) {
  if (!run.about.responses) return "";
  std::string out = "\nResponses\n\n";
  for (const FailedResponse& failed : run.about.responses->failed) {
    out += wrapped((failed.group.empty() ? "" : failed.group + ": ") + failed.of +
                       " not fitted: " + failed.why,
                   0, 2);
  }
  return out + response_text(responses_of(run));
}

Result<void> add_agreement(const StudyRun& run, const std::string& folder,
                           std::vector<FileToWrite>& files) {
  if (!run.about.agreement) return {};
  const AgreeDocument& document = *run.about.agreement;
  files.push_back({folder + "/agreement.csv", agree_csv(document)});
  files.push_back({folder + "/agreement.csv.meta.json", agree_meta_json(document)});
  files.push_back({folder + "/agreement.json", agree_json(document)});
  auto drawn = draw_agreement(document, run.study.settings(figure_settings()),
                              folder + "/figures/agreement");
  if (!drawn) return fail(drawn.error());
  std::move(drawn->begin(), drawn->end(), std::back_inserter(files));
  return {};
}

void add_groups(const StudyRun& run, const std::string& folder, std::vector<FileToWrite>& files) {
  if (run.about.pool) {
    files.push_back({folder + "/pool.csv", pool_csv(*run.about.pool)});
    files.push_back({folder + "/pool.csv.meta.json", pool_meta_json(*run.about.pool)});
    files.push_back({folder + "/pool.json", pool_json(*run.about.pool)});
  }
  if (run.about.together) {
    files.push_back({folder + "/together.csv", joint_csv(*run.about.together)});
    files.push_back({folder + "/together.csv.meta.json", joint_meta_json(*run.about.together)});
    files.push_back({folder + "/together.json", joint_json(*run.about.together)});
  }
}

}  // namespace

Result<std::vector<FileToWrite>> study_outputs(const StudyRun& run, const std::string& folder) {
  const FitDocument document = run.document();
  std::vector<FileToWrite> files;
  files.push_back({folder + "/points.csv", run.points_csv});
  files.push_back({folder + "/points.csv.meta.json", points_meta_json(run)});
  files.push_back({folder + "/fits.csv", fit_csv(document)});
  files.push_back({folder + "/fits.csv.meta.json", fit_meta_json(document)});
  files.push_back({folder + "/fits.json", fit_json(document)});
  CampaignReportOptions report;
  if (!run.about.title.empty()) report.title = run.about.title;
  auto page = campaign_report(document, report);
  if (!page) return fail(page.error());
  files.push_back({folder + "/report.html", std::move(*page)});
  auto drawn = draw_figures(document, run.study.settings(figure_settings()), folder + "/figures");
  if (!drawn) return fail(drawn.error());
  std::move(drawn->begin(), drawn->end(), std::back_inserter(files));
  if (auto ok = add_responses(run, folder, files); !ok) return fail(ok.error());
  if (auto ok = add_agreement(run, folder, files); !ok) return fail(ok.error());
  add_groups(run, folder, files);
  return files;
}

std::string study_text(const StudyRun& run) {
  std::string out = run.about.title.empty() ? "" : run.about.title + "\n\n";
  out += run_text(run.about) + "\n";
  out += fit_text(run.document()) + responses_text(run);
  if (run.about.agreement) out += "\nAgreement\n\n" + agree_text(*run.about.agreement);
  if (run.about.pool) out += "\n" + pool_text(*run.about.pool);
  if (run.about.together) out += "\n" + joint_text(*run.about.together);
  return out;
}

}  // namespace leafwright
