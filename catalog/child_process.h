// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <sys/types.h>

#include <chrono>
#include <cstdint>
#include <filesystem>
#include <functional>
#include <mutex>
#include <string>
#include <vector>

namespace holdshelf {

/// Runs a program and reads what it prints, line by line. Work on files from strangers is done in
/// a process of its own, so that a picture that brings down a decoder brings down nothing else, and
/// one that takes it over has none of the files and connections that are open here.
class ChildProcess {
 public:
  ChildProcess() = default;
  ~ChildProcess() { kill(); }
  ChildProcess(const ChildProcess&) = delete;
  ChildProcess& operator=(const ChildProcess&) = delete;

  /// How it ended: its exit status, or minus the signal that ended it.
  /// @param line  Called for each line of its standard output; its standard error is dropped.
  /// @throws std::runtime_error  It cannot be started. What `line` throws, once it was ended.
  int run(const std::filesystem::path& program, const std::vector<std::string>& arguments,
          const std::function<void(const std::string&)>& line);

  /// Ends it at once, from any thread; what runs later is not touched.
  void kill();

 private:
  int awaitEnd();

  std::mutex mutex_;  ///< Held while it starts: whoever sees what it does can end it.
  pid_t pid_ = 0;
};

/// For such a child, when it starts: it gives way to all else (nice 10), and ends when the process
/// that started it does.
/// @param parent  Number of that process, which in a container may be 1.
void becomeWorker(pid_t parent);

/// From now on this process gets no more memory than it has by so much (and what its threads need
/// to start), and is killed once it has used so much processor time: what a stranger's file makes
/// of a decoder comes to an end.
void limitWork(std::chrono::seconds processor_time, std::uint64_t more_bytes);

}  // namespace holdshelf
