// SPDX-License-Identifier: Apache-2.0
#include "catalog/console.h"

#include <google/protobuf/util/json_util.h>
#include <unistd.h>

#include <atomic>
#include <cmath>
#include <csignal>
#include <cstdio>
#include <stdexcept>

#include "catalog/shown_text.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

std::atomic<bool> interrupt_asked{false};

void onInterrupt(int signal) {
  interrupt_asked = true;
  std::signal(signal, SIG_DFL);
}

std::string duration(double seconds) {
  const int whole = static_cast<int>(std::lround(seconds));
  if (whole < 60) return std::to_string(whole) + " s";
  return std::to_string(whole / 60) + " min " + std::to_string(whole % 60) + " s";
}

/// Reads the message. @return  Why that cannot be done; empty: it was.
std::string whyNotRead(const std::string& json, bool leave_out_unknown,
                       google::protobuf::Message& message) {
  google::protobuf::util::JsonParseOptions options;
  options.ignore_unknown_fields = leave_out_unknown;
  message.Clear();
  const auto status = google::protobuf::util::JsonStringToMessage(json, &message, options);
  if (status.ok()) return "";
  const std::string reason(status.message());
  return reason.empty() ? "unreadable" : reason.substr(0, reason.find('\n'));
}

}  // namespace

void catchInterrupts() {
  struct sigaction action = {};
  action.sa_handler = onInterrupt;
  action.sa_flags = SA_RESTART;
  sigaction(SIGINT, &action, nullptr);
  sigaction(SIGTERM, &action, nullptr);
}

bool interrupted() { return interrupt_asked; }

void Console::say(const std::string& text) const { draw(withoutControls(text)); }

void Console::draw(const std::string& text) const {
  if (!json) std::fwrite(text.data(), 1, text.size(), stdout);
}

void Console::result(const google::protobuf::Message& message) const {
  if (!json) return;
  const std::string text = toJson(message);
  std::fwrite(text.data(), 1, text.size(), stdout);
}

Progress Console::progress() {
  return [this](const std::string& stage, double done) {
    show(stage, done);
    return !interrupted();
  };
}

void Console::show(const std::string& stage, double done) {
  using namespace std::chrono;
  const auto now = steady_clock::now();
  const bool new_stage = stage != stage_;
  if (new_stage) stage_ = stage, stage_start_ = now;
  const bool terminal = ::isatty(STDERR_FILENO) == 1;
  const auto pause = terminal ? milliseconds(100) : milliseconds(15'000);
  if (!new_stage && now - last_shown_ < pause) return;
  last_shown_ = now;
  const double spent = duration_cast<milliseconds>(now - stage_start_).count() / 1e3;
  std::string text = withoutControls(stage);
  if (done > 0 && !new_stage) text += " " + std::to_string(std::lround(done * 100)) + " %";
  if (done > 0.05 && spent > 1) text += ", about " + duration(spent * (1 - done) / done) + " left";
  if (terminal) {
    std::fprintf(stderr, "\r\033[K%s", text.c_str());
    line_open_ = true;
  } else {
    std::fprintf(stderr, "%s\n", text.c_str());
  }
  std::fflush(stderr);
}

void Console::endProgress() {
  if (line_open_) std::fprintf(stderr, "\r\033[K");
  line_open_ = false;
  stage_.clear();
}

std::string toJson(const google::protobuf::Message& message) {
  google::protobuf::util::JsonPrintOptions options;
  options.add_whitespace = true;
  std::string json;
  if (!google::protobuf::util::MessageToJsonString(message, &json, options).ok())
    throw std::logic_error("a message has no JSON form");
  return json;
}

void fromJson(const std::string& json, const std::string& what,
              google::protobuf::Message& message) {
  const std::string reason = whyNotRead(json, true, message);
  if (!reason.empty())
    throw BadInput(what + " is not the JSON expected here (" + reason +
                   "): compare it with proto/" + "README.md.");
}

void fromExportedJson(const std::string& json, const std::string& what,
                      google::protobuf::Message& message) {
  const std::string reason = whyNotRead(json, false, message);
  if (reason.empty()) return;
  fromJson(json, what, message);
  throw BadInput(what + " says what this program does not know (" + reason +
                 "): a newer one exported it; update this one, or import it there.");
}

}  // namespace holdshelf
