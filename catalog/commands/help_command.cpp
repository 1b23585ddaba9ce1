// SPDX-License-Identifier: Apache-2.0
#include <algorithm>
#include <memory>

#include "catalog/commands/command.h"
#include "catalog/commands/help_pages.h"
#include "catalog/edit_distance.h"
#include "mesh/bad_input.h"
#include "mesh/whole_file.h"

namespace holdshelf {
namespace {

struct HelpOptions {
  std::vector<std::string> words;
  std::filesystem::path pages;
  std::string shell;
};

std::vector<HelpPage> allPages(const CLI::App& program) {
  std::vector<HelpPage> pages = commandPages(program);
  for (const HelpPage& guide : guidePages()) pages.push_back(guide);
  return pages;
}

/// Past a link's or picture's target, and past a picture's words; npos where none begins at i.
std::size_t linkText(const std::string& markdown, std::size_t i, std::string& words) {
  const bool picture = markdown.compare(i, 2, "![") == 0;
  if (!picture && markdown[i] != '[') return std::string::npos;
  const std::size_t middle = markdown.find("](", i);
  if (middle == std::string::npos || markdown.substr(i, middle - i).find(']') != std::string::npos)
    return std::string::npos;
  words = picture ? "" : markdown.substr(i + 1, middle - i - 1);
  return markdown.find(')', middle);
}

/// The end of a code span or fenced block that begins at i; npos where none does.
std::size_t codeEnd(const std::string& markdown, std::size_t i) {
  if (markdown[i] != '`') return std::string::npos;
  const std::size_t ticks = markdown.find_first_not_of('`', i);
  if (ticks == std::string::npos) return std::string::npos;
  const std::string fence = markdown.substr(i, ticks - i);
  const std::size_t end = markdown.find(fence, ticks);
  return end == std::string::npos ? end : end + fence.size();
}

/// Pictures, the targets of links and marks of emphasis are of no use on a terminal; what is to be
/// typed stays as it is.
std::string asPlainText(const std::string& markdown) {
  std::string text, words;
  for (std::size_t i = 0; i < markdown.size(); ++i) {
    if (const std::size_t code = codeEnd(markdown, i); code != std::string::npos) {
      text += markdown.substr(i, code - i);
      i = code - 1;
    } else if (markdown[i] == '\\' && i + 1 < markdown.size()) {
      text += markdown[++i];
    } else if (const std::size_t end = linkText(markdown, i, words); end != std::string::npos) {
      text += words;
      i = end;
    } else if (markdown[i] != '*') {
      text += markdown[i];
    }
  }
  return text;
}

void printPage(const CLI::App& program, const HelpOptions& options, Console& console) {
  std::string name;
  for (const std::string& word : options.words) name += (name.empty() ? "" : "-") + word;
  if (name.empty()) name = "holdshelf";
  const std::vector<HelpPage> pages = allPages(program);
  for (const HelpPage& page : pages)
    if (page.name == name) return console.say(asPlainText(page.markdown));
  const auto nearest =
      std::min_element(pages.begin(), pages.end(), [&](const HelpPage& a, const HelpPage& b) {
        return editDistance(name, a.name) < editDistance(name, b.name);
      });
  throw BadInput("There is no help on \"" + name + "\": did you mean \"" + nearest->name +
                 "\"? holdshelf help lists commands and guides.");
}

void writePages(const CLI::App& program, const HelpOptions& options) {
  std::filesystem::create_directories(options.pages);
  for (const HelpPage& page : allPages(program)) {
    const std::string file = (page.name == "holdshelf" ? "" : "holdshelf-") + page.name + "." +
                             std::to_string(page.section) + ".md";
    writeWhole(options.pages / file, page.markdown);
  }
}

void help(const CLI::App& program, const HelpOptions& options, Console& console) {
  if (!options.shell.empty()) return console.say(bashCompletion(program));
  if (!options.pages.empty()) return writePages(program, options);
  printPage(program, options, console);
}

}  // namespace

void addHelpCommand(CLI::App& app, Job& job) {
  const auto options = std::make_shared<HelpOptions>();
  CLI::App* command = app.add_subcommand("help", "Explain a command, or how to do a job");
  command
      ->add_option("topic", options->words,
                   "A command (find; climb place) or a guide: clerk, setter, head-setter, photos, "
                   "search, chain")
      ->type_name("WORD");
  command->add_option("--pages", options->pages, "Write every page as Markdown into this folder")
      ->type_name("DIR");
  command->add_option("--completion", options->shell, "Print a completion script for this shell")
      ->check(CLI::IsMember({"bash"}))
      ->type_name("SHELL");
  command->callback(
      [options, &app, &job] { job = [options, &app](Console& c) { help(app, *options, c); }; });
}

}  // namespace holdshelf
