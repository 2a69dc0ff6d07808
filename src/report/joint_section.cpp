#include "report/joint_section.hpp"

#include "base/number.hpp"
#include "base/text.hpp"
#include "fit/joint_shrinkage.hpp"
#include "report/html.hpp"

namespace leafwright {
namespace {

std::string name_of(const JointGroup& group) {
  return group.group.empty() ? "all leaves" : group.group;
}

std::string paragraph(const std::string& text) {
  return text.empty() ? "" : "<p>" + html_escaped(text) + "</p>\n";
}

/// How far the leaf was drawn: of capacities in per cent, of Rday in its unit.
std::string moved(const Posterior& p, const std::optional<double>& alone) {
  if (!alone) return "";
  const bool ratio = p.name != "Rday" && *alone > 0;
  const double by = ratio ? 100 * (p.median / *alone - 1) : p.median - *alone;
  return (by > 0 ? "+" : "") + print_rounded(by, 2) + (ratio ? " %" : "");
}

std::string percent_from(double level) {
  return print_rounded(100 * level, 4) + " % from";
}

std::string leaves_table(const JointGroupRun& run, double level) {
  HtmlTable t{
      "Each leaf alone and together (shrunken: for looking at, not for another analysis), "
      "umol m-2 s-1",
      {"leaf", "parameter", "alone", "together, shrunken", percent_from(level), "to", "drawn by"},
      {false, false, true, true, true, true, true},
      {}};
  for (std::size_t l = 0; l < run.group.leaves.size(); ++l) {
    for (const Posterior& p : run.group.leaves[l].values) {
      const auto alone = alone_value(run.alone[l], p.name);
      t.rows.push_back({run.group.leaves[l].leaf, p.name, alone ? print_rounded(*alone, 4) : "",
                        print_rounded(p.median, 4), print_rounded(p.low, 4),
                        print_rounded(p.high, 4), moved(p, alone)});
    }
  }
  return "<details><summary>" +
         html_escaped("The " + counted(run.group.leaves.size(), "leaf", "leaves") + " of " +
                      name_of(run.group)) +
         "</summary>\n" + html_table(t) + "</details>\n";
}

std::string group_table(const JointGroup& group, double level) {
  HtmlTable t{"Middle of the group, and how its leaves differ",
              {"what", "parameter", "median", percent_from(level), "to"},
              {false, false, true, true, true},
              {}};
  const auto add = [&](const std::string& what, const Posterior& p) {
    t.rows.push_back({what, p.name, print_rounded(p.median, 4), print_rounded(p.low, 4),
                      print_rounded(p.high, 4)});
  };
  for (const Posterior& p : group.middle) add("middle, umol m-2 s-1", p);
  for (const Posterior& p : group.spread) {
    add(p.name == "Rday" ? "SD between leaves, umol m-2 s-1" : "SD of ln between leaves", p);
  }
  return html_table(t);
}

std::string one_group(const JointGroupRun& run, double level) {
  const JointGroup& group = run.group;
  const std::string head = "<h3>" + html_escaped(name_of(group)) + "</h3>\n";
  if (!group.converged) {
    return head + "<ul class=\"notes\"><li><strong>Not sampled well enough.</strong> " +
           html_escaped(
               "No number of this group is shown, and those in together.csv are not to be "
               "used (" +
               joint_sampling(group) + "). Raise sweeps in [together].") +
           "</li></ul>\n";
  }
  return head + group_table(group, level) +
         paragraph("Sampled well: " + joint_sampling(group) + ".") +
         paragraph(joint_kept(run).empty() ? "" : "Shrinkage: " + joint_kept(run) + ".") +
         leaves_table(run, level);
}

}  // namespace

std::string joint_section(const JointDocument& document) {
  std::string out = "<h2 id=\"together\">Leaves fitted together</h2>\n";
  out +=
      paragraph("Capacities and Rday " + document.temperature +
                ". The values of the leaves' own fits stand above and in fits.csv; alone is here "
                "the least squares of the same rows with the limitations and the free Rday that "
                "are sampled.");
  std::string items;
  for (const FailedCurve& failed : document.run->failed) {
    items += "<li>" + html_escaped(failed.curve_id + " takes no part: " + failed.why) + "</li>\n";
  }
  if (!items.empty()) out += "<ul>\n" + items + "</ul>\n";
  out += html_notes(document.run->notes);
  for (const JointGroupRun& run : document.run->groups) out += one_group(run, document.level);
  return out;
}

}  // namespace leafwright
