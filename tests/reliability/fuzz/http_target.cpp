// SPDX-License-Identifier: Apache-2.0
// Requests as the routes see them. An input is one or more requests: METHOD PATH?QUERY, a line
// break, the body; requests are parted by a line "==". A digit before the method is the asker's
// role (role.h); without one it is the head. All but what a route does with bodies is reached
// through the seeds, which are made of the table of routes itself.
#include <memory>
#include <sstream>
#include <stdexcept>

#include "catalog/api.h"
#include "catalog/climbs.h"
#include "catalog/gym.h"
#include "tests/reliability/fuzz/filled_message.h"
#include "tests/reliability/fuzz/target.h"
#include "tests/shapes/holds.h"
#include "tests/shapes/sdf_mesh.h"

namespace fs = std::filesystem;
using namespace holdshelf;

namespace {

constexpr int kMostRequests = 6;
const std::string kBetween = "\n==\n";

/// A library with walls, a crate and two holds, of which one has a mesh; a copy of it for each
/// input.
const fs::path& pristine() {
  static const fs::path folder = [] {
    fs::path made = test::memoryFolder("http-pristine");
    fs::copy(HOLDSHELF_SOURCE_DIR "/testdata/libraries/v1", made, fs::copy_options::recursive);
    (void)Library::open(made);  // Brought up to date.
    return made;
  }();
  return folder;
}

/// Takes the digit off the front.
Role takeRole(std::string& text) {
  if (text.empty() || text.front() < '0' || text.front() > '4') return Role::Head;
  const auto role = static_cast<Role>(text.front() - '0');
  text.erase(0, 1);
  return role;
}

ApiRequest requestOf(std::string text) {
  ApiRequest request;
  request.role = takeRole(text);
  const std::size_t line_end = std::min(text.find('\n'), text.size());
  const std::size_t blank = std::min(text.find(' '), line_end);
  request.method = text.substr(0, blank);
  std::string target =
      text.substr(std::min(blank + 1, line_end), line_end - std::min(blank + 1, line_end));
  const std::size_t mark = target.find('?');
  if (mark != std::string::npos) {
    std::istringstream words(target.substr(mark + 1));
    for (std::string word; std::getline(words, word, '&');) {
      const std::size_t equals = word.find('=');
      request.query.emplace(word.substr(0, equals),
                            equals == std::string::npos ? "" : word.substr(equals + 1));
    }
    target.resize(mark);
  }
  request.path = target;
  if (line_end < text.size()) request.body = text.substr(line_end + 1);
  request.device = "somebody";
  request.address = "192.0.2.9";
  return request;
}

bool isUtf8Text(const std::string& text) {
  Problem problem;
  std::string bytes("\x0a", 1);  // Field 1 of a Problem, which is a string: checked when parsed.
  if (text.size() > 100) return true;
  bytes += static_cast<char>(text.size());
  return problem.ParseFromString(bytes + text);
}

/// What the server turns down before any route sees it (request_guard.h).
bool reachesRoutes(const ApiRequest& request) {
  if (!isUtf8Text(request.path)) return false;
  for (const auto& [name, value] : request.query)
    if (!isUtf8Text(name) || !isUtf8Text(value)) return false;
  return request.body.size() <= (64U << 10);
}

void take(const std::string& bytes) {
  const fs::path folder = test::memoryFolder("http");
  fs::copy(pristine(), folder, fs::copy_options::recursive);
  Service service(folder, "/bin/true");
  std::size_t start = 0;
  for (int n = 0; n < kMostRequests && start < bytes.size(); ++n) {
    const std::size_t end = std::min(bytes.find(kBetween, start), bytes.size());
    const ApiRequest request = requestOf(bytes.substr(start, end - start));
    start = end + kBetween.size();
    if (!reachesRoutes(request)) continue;
    const ApiReply reply = answerApi(service, request);
    if (reply.status >= 500) throw std::logic_error("status 500: " + reply.body);
    if (reply.file_name.find_first_of("\r\n\"") != std::string::npos ||
        reply.cookie.find_first_of("\r\n") != std::string::npos ||
        reply.tag.find_first_of("\r\n\"") != std::string::npos)
      throw std::logic_error("a header that the asker can break");
  }
}

std::string filledIn(std::string path) {
  const auto put = [&](const std::string& what, const std::string& with) {
    const std::size_t at = path.find(what);
    if (at != std::string::npos) path.replace(at, what.size(), with);
  };
  put("climbs/{id}", "climbs/C-0001");
  put("{sha256}", std::string(64, 'a'));
  put("{id}", "H-0001");
  return path;
}

std::vector<std::string> seeds() {
  std::vector<std::string> all = {
      "POST /api/v1/holds/H-0001/move\n{\"status\":\"WASH\"}",
      "POST /api/v1/holds/H-0001/edit\n{\"fields\":[\"bin\",\"count\"],\"bin\":\"B2\",\"count\":3}",
      "POST /api/v1/holds/H-0001/note\n{\"text\":\"spins\"}",
      "GET /api/v1/find?q=edge over 10 mm",
      "GET /api/v1/holds/H-0001/verdict?rotation=30&wall=20&pull=0",
      "GET /api/v1/holds/H-0001/section.svg?rotation=30&offset=2.5",
      "POST /api/v1/find\n{\"ranges\":[{\"number\":\"edge-depth\",\"from\":4}],\"sort\":\"name\"}",
      "POST /api/v1/climbs/C-0001/change?version=99\n{\"take\":{\"holds\":[\"H-0001\"]}}",
      "POST /api/v1/intakes\n{\"name\":\"x\",\"paper\":\"A4\",\"quality\":\"draft\"}" + kBetween +
          "GET /api/v1/intakes",
      "POST /api/v1/pair\n{\"code\":\"1234-5678\",\"name\":\"Mo\"}"};
  for (const ApiRoute& route : apiRoutes()) {
    std::string query;
    for (const ApiParameter& parameter : route.query)
      query += (query.empty() ? "?" : "&") + parameter.name + "=1";
    all.push_back(route.method + " " + filledIn(route.path) + query +
                  (route.takes != nullptr ? "\n{}" : ""));
    all.push_back(std::to_string(all.size() % 4) + all.back());  // The same of who may less.
  }
  return all;
}

/// Every route that takes a JSON body, with one that has all its fields.
std::vector<std::string> roughSeeds() {
  std::vector<std::string> all;
  for (const ApiRoute& route : apiRoutes())
    if (route.takes != nullptr)
      for (int choice = 0; choice < 2; ++choice)
        all.push_back(route.method + " " + filledIn(route.path) + "\n" +
                      test::filledJson(*route.takes, choice));
  return all;
}

const test::FuzzTarget target("http", take, seeds, roughSeeds);

}  // namespace
