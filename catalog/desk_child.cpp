// SPDX-License-Identifier: Apache-2.0
#include "catalog/desk_child.h"

#include <google/protobuf/util/json_util.h>
#include <unistd.h>

#include <cstdlib>
#include <vector>

#include "catalog/library_place.h"

namespace holdshelf {
namespace {

std::vector<std::string> deskWords(const std::string& what, const std::filesystem::path& folder) {
  return {"desk", "--parent", std::to_string(::getpid()), what, folder.string()};
}

}  // namespace

LookEnd lookInChild(ChildProcess& child, const std::filesystem::path& program,
                    const std::filesystem::path& folder, const std::string& label,
                    const std::string& picture) {
  LookEnd end;
  end.look.set_sentence("It cannot be read: its file is damaged.");
  std::vector<std::string> words = deskWords("look", folder);
  words.insert(words.end(), {label, picture});
  end.status = child.run(program, words, [&](const std::string& line) {
    PhotoLook said;
    if (google::protobuf::util::JsonStringToMessage(line, &said).ok()) end.look = said;
  });
  return end;
}

RebuildEnd rebuildInChild(ChildProcess& child, const std::filesystem::path& program,
                          const std::filesystem::path& folder, const std::filesystem::path& library,
                          const std::function<void(double done, const std::string& step)>& moved) {
  RebuildEnd end;
  std::vector<std::string> words = deskWords("rebuild", folder);
  words.push_back(library.string());
  if (isDatabaseAddress(library)) words.emplace_back("--queued");  // By who is free.
  end.status = child.run(program, words, [&](const std::string& line) {
    for (const std::string why : {"failed ", "unavailable "})
      if (line.starts_with(why)) end.failure = line.substr(why.size());
    if (!line.starts_with("step ")) return;
    const std::size_t blank = line.find(' ', 5);
    moved(std::atof(line.substr(5, blank - 5).c_str()), line.substr(blank + 1));
  });
  return end;
}

}  // namespace holdshelf
