#include "house/docs.hpp"

#include <cctype>
#include <regex>

namespace leafwright::house {
namespace fs = std::filesystem;
namespace {

/// Heading text -> the anchor that Markdown readers on the web make of it.
std::string anchor_of(const std::string& heading) {
  std::string out;
  for (const char c : heading) {
    const auto byte = static_cast<unsigned char>(c);
    if (std::isalnum(byte) != 0 || byte >= 0x80U || c == '_' || c == '-') {
      out += static_cast<char>(std::tolower(byte));
    } else if (c == ' ') {
      out += '-';
    }
  }
  return out;
}

/// The lines of a Markdown file with code fences and code spans blanked.
std::vector<std::string> prose_of(const std::string& text) {
  static const std::regex span("`[^`]*`");
  std::vector<std::string> lines = lines_of(text);
  bool fenced = false;
  for (std::string& line : lines) {
    const bool fence = line.find("```") != std::string::npos;
    if (fence) fenced = !fenced;
    if (fence || fenced) {
      line.clear();
    } else if (!line.starts_with("#")) {
      line = std::regex_replace(line, span, "");
    }
  }
  return lines;
}

bool has_anchor(const std::string& text, const std::string& anchor) {
  for (const std::string& line : prose_of(text)) {
    const std::size_t start = line.find_first_not_of("# ");
    if (line.starts_with("#") && start != std::string::npos &&
        anchor_of(line.substr(start)) == anchor) {
      return true;
    }
  }
  return false;
}

bool resolves(const std::vector<File>& files, const fs::path& root, const File& from,
              const std::string& link) {
  const std::size_t hash = link.find('#');
  const std::string target = link.substr(0, hash);
  const fs::path path = target.empty()
                            ? fs::path(from.path)
                            : (fs::path(from.path).parent_path() / target).lexically_normal();
  if (!fs::exists(root / path)) return false;
  if (hash == std::string::npos) return true;
  for (const File& file : files) {
    if (file.path == path.generic_string()) return has_anchor(file.text, link.substr(hash + 1));
  }
  return false;
}

}  // namespace

Faults broken_links(const std::vector<File>& files, const fs::path& root) {
  static const std::regex form(R"re(\]\(([^)\s]+)[^)]*\)|(?:src|href)="([^"]+)")re");
  Faults faults;
  for (const File& file : files) {
    if (!file.path.ends_with(".md")) continue;
    const std::vector<std::string> lines = prose_of(file.text);
    for (std::size_t i = 0; i < lines.size(); ++i) {
      for (auto it = std::sregex_iterator(lines[i].begin(), lines[i].end(), form);
           it != std::sregex_iterator(); ++it) {
        const std::string link = (*it)[1].matched ? (*it)[1].str() : (*it)[2].str();
        if (link.find("://") != std::string::npos || link.starts_with("mailto:")) continue;
        if (!resolves(files, root, file, link)) {
          faults.push_back(file.path + ":" + std::to_string(i + 1) + ": nothing at " + link);
        }
      }
    }
  }
  return faults;
}

std::vector<Shown> shown_commands(const File& file) {
  std::vector<Shown> commands;
  const std::vector<std::string> lines = lines_of(file.text);
  bool inside = false;
  for (std::size_t i = 0; i < lines.size(); ++i) {
    if (lines[i].starts_with("```")) {
      inside = lines[i] == "```console";
    } else if (inside && lines[i].starts_with("$ ")) {
      commands.push_back({file.path, i + 1, lines[i].substr(2), {}});
      while (commands.back().command.ends_with("\\") && i + 1 < lines.size()) {
        commands.back().command += "\n" + lines[++i];
      }
    } else if (inside && !commands.empty()) {
      commands.back().output.push_back(lines[i]);
    }
  }
  return commands;
}

std::vector<Shown> called_commands(const File& file) {
  std::vector<Shown> commands;
  const std::vector<std::string> lines = lines_of(file.text);
  bool inside = false;
  for (std::size_t i = 0; i < lines.size(); ++i) {
    if (lines[i].starts_with("```")) {
      inside = lines[i] == "```sh";
    } else if (inside && lines[i].starts_with("leafwright ")) {
      commands.push_back({file.path, i + 1, lines[i], {}});
    }
  }
  return commands;
}

bool same_output(const std::vector<std::string>& shown, const std::vector<std::string>& output) {
  // The classic matcher with one wildcard: on a mismatch, let the last one swallow one line more.
  std::size_t s = 0;
  std::size_t o = 0;
  std::size_t dots = std::string::npos;
  std::size_t resume = 0;
  while (o < output.size()) {
    if (s < shown.size() && shown[s] == "...") {
      dots = s++;
      resume = o;
    } else if (s < shown.size() && shown[s] == output[o]) {
      ++s;
      ++o;
    } else if (dots != std::string::npos) {
      s = dots + 1;
      o = ++resume;
    } else {
      return false;
    }
  }
  while (s < shown.size() && shown[s] == "...") ++s;
  return s == shown.size();
}

}  // namespace leafwright::house
