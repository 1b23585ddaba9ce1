// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <google/protobuf/message.h>

#include <chrono>
#include <string>

#include "mesh/progress.h"

namespace holdshelf {

/// From now on Ctrl-C (SIGINT) and SIGTERM only ask long work to stop, which then leaves nothing
/// behind; a second one kills at once.
void catchInterrupts();
bool interrupted();

/// Where a command says what it found: results on standard output, progress on standard error.
class Console {
 public:
  bool json = false;

  /// For people; nothing under --json. Names and notes may have come from anywhere: what a terminal
  /// takes for commands is left out.
  void say(const std::string& text) const;
  /// The same of what the program itself made for a terminal, with its commands.
  void draw(const std::string& text) const;
  /// The result under --json: the proto3 JSON mapping; nothing otherwise.
  void result(const google::protobuf::Message& message) const;

  /// On a terminal one line that is rewritten, with an estimate of the time left; else a line a
  /// stage. Stops the work when the user interrupts.
  Progress progress();
  /// Ends the progress line, if one is open.
  void endProgress();

 private:
  void show(const std::string& stage, double done);

  std::string stage_;
  std::chrono::steady_clock::time_point stage_start_, last_shown_;
  bool line_open_ = false;
};

/// Proto3 JSON of a message, indented, with all fields of JSON names as in the .proto files.
std::string toJson(const google::protobuf::Message& message);

/// Leaves out fields and words that this program does not know.
/// @throws BadInput  It is not the proto3 JSON mapping of the message; `what` names the text.
void fromJson(const std::string& json, const std::string& what, google::protobuf::Message& message);

/// The same of what a program exported, with nothing left out.
/// @throws BadInput  Also where there are fields or words that this program does not know.
void fromExportedJson(const std::string& json, const std::string& what,
                      google::protobuf::Message& message);

}  // namespace holdshelf
