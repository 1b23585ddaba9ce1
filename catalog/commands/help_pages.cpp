// SPDX-License-Identifier: Apache-2.0
#include "catalog/commands/help_pages.h"

#include <algorithm>
#include <map>

#include "guide_texts.h"

namespace holdshelf {
namespace {

using Options = std::vector<const CLI::Option*>;

std::vector<const CLI::App*> commandsOf(const CLI::App& app) {
  return app.get_subcommands([](const CLI::App* command) { return !command->get_name().empty(); });
}

/// "find", "climb place": what is typed after the program's name.
std::string pathOf(const CLI::App& command) {
  const CLI::App* parent = command.get_parent();
  if (parent == nullptr) return "";
  const std::string before = pathOf(*parent);
  return before.empty() ? command.get_name() : before + " " + command.get_name();
}

std::string joined(std::string words, char with) {
  std::replace(words.begin(), words.end(), ' ', with);
  return words;
}

std::string pageName(const CLI::App& command) {
  const std::string path = pathOf(command);
  return path.empty() ? "holdshelf" : joined(path, '-');
}

/// What Markdown would take for marks of its own, said plainly.
std::string escaped(const std::string& text) {
  std::string out;
  for (const char c : text) {
    if (std::string_view("\\`*_<>[]#|").find(c) != std::string_view::npos) out += '\\';
    out += c == '\n' ? ' ' : c;
  }
  return out;
}

std::string firstSentence(const std::string& text) {
  const std::size_t end = text.find_first_of(";\n");
  return text.substr(0, end);
}

std::string optionLine(const CLI::Option& option) {
  const bool positional = option.get_positional();
  std::string line = "- **" + escaped(option.get_name(positional, !positional)) + "**";
  if (const std::string type = option.get_type_name(); !type.empty() && option.get_type_size() != 0)
    line += " *" + escaped(type) + "*";
  if (option.get_expected_max() > 1) line += " ...";
  line += ": " + escaped(option.get_description());
  return line + (option.get_required() ? " (required)" : "") + "\n";
}

/// The options by their groups, positionals first, each group in the order of the help page.
std::string optionLines(const CLI::App& command) {
  std::vector<std::string> order;
  std::map<std::string, std::string> groups;
  for (const CLI::Option* option : command.get_options()) {
    const std::string group = option->get_positional() ? "ARGUMENTS" : option->get_group();
    if (group.empty()) continue;  // Hidden.
    if (!groups.contains(group)) order.push_back(group);
    groups[group] += optionLine(*option);
  }
  std::stable_partition(order.begin(), order.end(), [](const auto& g) { return g == "ARGUMENTS"; });
  std::string text;
  for (const std::string& group : order)
    text += "\n# " + (group == "Options" ? "OPTIONS" : escaped(group)) + "\n\n" + groups[group];
  return text;
}

std::string synopsis(const CLI::App& command) {
  std::string line = "**holdshelf" + std::string(pathOf(command).empty() ? "" : " ") +
                     pathOf(command) + "** [*options*]";
  for (const CLI::Option* option : command.get_options())
    if (option->get_positional()) {
      const std::string name = escaped(option->get_name(true));
      line += option->get_required() ? " *" + name + "*" : " [*" + name + "*]";
      if (option->get_expected_max() > 1) line += "...";
    }
  if (!commandsOf(command).empty()) line += " *command*";
  return line;
}

HelpPage pageOf(const CLI::App& command) {
  HelpPage page;
  page.name = pageName(command);
  page.summary = firstSentence(command.get_description());
  const std::string manual = page.name == "holdshelf" ? page.name : "holdshelf-" + page.name;
  page.markdown = "# NAME\n\n" + manual + " - " + escaped(page.summary) + "\n\n# SYNOPSIS\n\n" +
                  synopsis(command) + "\n\n# DESCRIPTION\n\n" + escaped(command.get_description()) +
                  "\n";
  if (const auto commands = commandsOf(command); !commands.empty()) {
    page.markdown += "\n# COMMANDS\n\n";
    for (const CLI::App* c : commands)
      page.markdown +=
          "- **" + c->get_name() + "**: " + escaped(firstSentence(c->get_description())) + "\n";
  }
  page.markdown += optionLines(command);
  if (page.name == "holdshelf") {
    page.markdown += "\n# GUIDES\n\n";
    for (const HelpPage& guide : guidePages())
      page.markdown += "- **holdshelf help " + guide.name + "**: " + escaped(guide.summary) + "\n";
    page.markdown += "\n# EXIT STATUS\n\n0 done, 1 bad input, 2 usage, 130 interrupted.\n";
  }
  return page;
}

void addPages(const CLI::App& command, std::vector<HelpPage>& pages) {
  pages.push_back(pageOf(command));
  for (const CLI::App* c : commandsOf(command)) addPages(*c, pages);
}

/// What may follow a command: its commands and its long options.
std::string wordsAfter(const CLI::App& command) {
  std::string words;
  for (const CLI::App* c : commandsOf(command)) words += c->get_name() + " ";
  for (const CLI::Option* option : command.get_options())
    for (const std::string& name : option->get_lnames()) words += "--" + name + " ";
  return words + "--json";
}

void addCases(const CLI::App& command, std::string& cases) {
  cases += "    \"" + pathOf(command) + "\") words=\"" + wordsAfter(command) + "\" ;;\n";
  for (const CLI::App* c : commandsOf(command)) addCases(*c, cases);
}

}  // namespace

std::vector<HelpPage> commandPages(const CLI::App& program) {
  std::vector<HelpPage> pages;
  addPages(program, pages);
  return pages;
}

const std::vector<HelpPage>& guidePages() {
  static const std::vector<HelpPage> kPages = [] {
    std::vector<HelpPage> pages;
    for (const GuideText& guide : kGuideTexts) {
      HelpPage page{guide.name, {}, guide.markdown, 7};
      // A guide begins with "# Title", as any Markdown file of a repository does.
      const std::size_t from = page.markdown.find("# "), end = page.markdown.find('\n', from);
      page.summary = page.markdown.substr(from + 2, end - from - 2);
      pages.push_back(page);
    }
    return pages;
  }();
  return kPages;
}

std::string bashCompletion(const CLI::App& program) {
  std::string cases;
  addCases(program, cases);
  return R"(# bash completion for holdshelf; for zsh: autoload -U bashcompinit && bashcompinit first.
_holdshelf() {
  local current=${COMP_WORDS[COMP_CWORD]} path= words= i candidate
  for ((i = 1; i < COMP_CWORD; i++)); do
    candidate="${path:+$path }${COMP_WORDS[i]}"
    _holdshelf_words "$candidate" && path=$candidate
  done
  _holdshelf_words "$path"
  COMPREPLY=($(compgen -W "$words" -- "$current"))
  [[ $current == -* ]] || COMPREPLY+=($(compgen -f -- "$current"))
}

# The words that may follow a command, in $words; fails for what is no command.
_holdshelf_words() {
  case $1 in
)" + cases +
         R"(    *) return 1 ;;
  esac
}

complete -o filenames -F _holdshelf holdshelf
)";
}

}  // namespace holdshelf
