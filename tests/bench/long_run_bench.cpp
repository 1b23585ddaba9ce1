// SPDX-License-Identifier: Apache-2.0
// long_run_bench PROGRAM CAPTURE [COUNT] [WIDTH] [EVERY]: takes COUNT holds in through `holdshelf
// serve`, one after another, as a phone does: photos announced, sent, looked at, rebuilt, stored.
// CAPTURE is a folder with mat.json and photos, which are thinned (each EVERY-th), made smaller
// (WIDTH px) and changed in one pixel each time so that no two captures are the same. Says what the
// server's process holds after each, and how much that grew once the first twenty were in. Ends
// with 1 where that is over 5 %, threads or files are left open, or the server does not end well.
#include <dirent.h>
#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <map>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>
#include <stdexcept>
#include <thread>

#include "catalog/blob_store.h"
#include "catalog/console.h"
#include "catalog/library.h"
#include "mesh/sha256.h"
#include "proto/intake.pb.h"
#include "tests/catalog/temp_folder.h"
#include "tests/reliability/durability/http_client.h"
#include "tests/reliability/durability/server_process.h"

namespace {

using namespace holdshelf;
using namespace holdshelf::test;
namespace fs = std::filesystem;

constexpr double kMostGrowth_percent = 5;

std::string asked(int port, const char* method, const std::string& path, const std::string& body) {
  const HttpAnswer answer = askServer(port, method, "/api/v1/" + path, body);
  if (answer.status != 200)
    throw std::runtime_error(path + ": " + std::to_string(answer.status) + " " + answer.body);
  return answer.body;
}

Intake intakeOf(const std::string& json) {
  Intake intake;
  fromJson(json, "The intake", intake);
  return intake;
}

std::vector<cv::Mat> smallPhotosOf(const fs::path& capture, int width_px, std::size_t every) {
  std::vector<fs::path> files;
  for (const auto& entry : fs::directory_iterator(capture))
    if (entry.path().extension() == ".jpg") files.push_back(entry.path());
  std::sort(files.begin(), files.end());
  std::vector<cv::Mat> photos;
  for (std::size_t i = 0; i < files.size(); i += every) {
    const cv::Mat image = cv::imread(files[i].string());
    const double scale = double(width_px) / image.cols;
    cv::resize(image, photos.emplace_back(), {}, scale, scale, cv::INTER_AREA);
  }
  return photos;
}

std::vector<std::string> filesOf(const std::vector<cv::Mat>& photos, int round) {
  std::vector<std::string> files;
  for (const cv::Mat& photo : photos) {
    cv::Mat changed = photo.clone();
    changed.at<cv::Vec3b>(0, round % changed.cols)[0] ^= 64;
    std::vector<unsigned char> bytes;
    cv::imencode(".jpg", changed, bytes, {cv::IMWRITE_JPEG_QUALITY, 95});
    files.emplace_back(bytes.begin(), bytes.end());
  }
  return files;
}

/// One hold from photos to the library. @return  How it ended, where not well.
std::string takeOneIn(int port, const std::string& mat, const std::vector<std::string>& photos) {
  const std::string id =
      intakeOf(asked(port, "POST", "intakes",
                     R"({"name":"Harbour ledge","quality":"draft","mat":)" + mat + "}"))
          .id();
  const std::string at = "intakes/" + id;
  for (const std::string& photo : photos) {
    const std::string sha256 = sha256Hex(photo);
    asked(port, "POST", at + "/photos",
          R"({"sha256":")" + sha256 + R"(","name":"a.jpg","size":)" + std::to_string(photo.size()) +
              "}");
    asked(port, "PUT", at + "/photos/" + sha256 + "?offset=0", photo);
  }
  const auto wait = [&](const auto& until) {
    for (;;) {
      const Intake intake = intakeOf(asked(port, "GET", at, ""));
      if (until(intake)) return intake;
      std::this_thread::sleep_for(std::chrono::milliseconds(100));
    }
  };
  wait([](const Intake& intake) {
    return std::all_of(intake.photos().begin(), intake.photos().end(),
                       [](const IntakePhoto& p) { return p.state() == IntakePhoto::LOOKED; });
  });
  asked(port, "POST", at + "/start", "");
  const Intake done = wait([](const Intake& intake) {
    return intake.state() == Intake::CHOOSING || intake.state() == Intake::FAILED;
  });
  if (done.state() == Intake::CHOOSING) asked(port, "POST", at + "/store", R"({"kind":"NEW"})");
  asked(port, "DELETE", at, "");
  return done.state() == Intake::FAILED ? done.sentence() : "";
}

/// What a process holds: KiB of memory of its own, threads, open files.
struct Holdings {
  long memory_kib = 0, threads = 0, files = 0;
};

Holdings holdingsOf(pid_t pid) {
  const fs::path process = fs::path("/proc") / std::to_string(pid);
  Holdings holdings;
  std::ifstream status(process / "status");
  for (std::string line; std::getline(status, line);) {
    if (line.starts_with("RssAnon:")) holdings.memory_kib = std::atol(line.c_str() + 8);
    if (line.starts_with("Threads:")) holdings.threads = std::atol(line.c_str() + 8);
  }
  holdings.files = std::distance(fs::directory_iterator(process / "fd"), fs::directory_iterator());
  return holdings;
}

/// The middle one of a few: one look may fall into a moment of work.
Holdings middle(const Holdings* first, std::size_t count) {
  const auto of = [&](long Holdings::*number) {
    std::vector<long> values;
    for (std::size_t i = 0; i < count; ++i) values.push_back(first[i].*number);
    std::nth_element(values.begin(), values.begin() + std::ptrdiff_t(count / 2), values.end());
    return values[count / 2];
  };
  return {of(&Holdings::memory_kib), of(&Holdings::threads), of(&Holdings::files)};
}

/// From the ten after the first twenty to the last ten. @return  Whether it stays what it was.
bool staysSmall(const std::vector<Holdings>& all) {
  if (all.size() < 40) return true;
  const Holdings warm = middle(&all[20], 10), last = middle(&all[all.size() - 10], 10);
  const double grown_percent =
      100.0 * double(last.memory_kib - warm.memory_kib) / double(warm.memory_kib);
  std::printf(
      "holds 21 to 30: %.1f MiB, %ld threads, %ld files; the last ten: %.1f MiB (%+.1f %%), "
      "%ld threads, %ld files\n",
      double(warm.memory_kib) / 1024, warm.threads, warm.files, double(last.memory_kib) / 1024,
      grown_percent, last.threads, last.files);
  const bool grows = grown_percent > kMostGrowth_percent,
             keeps = last.threads > warm.threads || last.files > warm.files;
  if (grows) std::printf("Its memory grew by more than %.0f %%.\n", kMostGrowth_percent);
  if (keeps) std::printf("It keeps threads or files open.\n");
  return !grows && !keeps;
}

int run(int argc, char** argv) {
  const fs::path capture = argv[2];
  const int count = argc > 3 ? std::atoi(argv[3]) : 200,
            width_px = argc > 4 ? std::atoi(argv[4]) : 640;
  const std::size_t every = argc > 5 ? static_cast<std::size_t>(std::atoi(argv[5])) : 1;
  const TempFolder folder;
  const fs::path library = folder / "library";
  (void)Library::openOrCreate(library);
  ServerProcess server(argv[1], library);
  const std::string mat = readFile(capture / "mat.json");
  const std::vector<cv::Mat> photos = smallPhotosOf(capture, width_px, every);
  std::vector<Holdings> all;
  int failed = 0;
  std::printf("| holds | memory, MiB | threads | open files | files in serve/ | s |\n");
  const auto start = std::chrono::steady_clock::now();
  for (int n = 1; n <= count; ++n) {
    const std::string failure = takeOneIn(server.port(), mat, filesOf(photos, n));
    if (!failure.empty()) ++failed, std::printf("%d: %s\n", n, failure.c_str());
    std::this_thread::sleep_for(std::chrono::milliseconds(500));
    const Holdings held = all.emplace_back(holdingsOf(server.pid()));
    const auto left = std::distance(fs::recursive_directory_iterator(library / "serve"),
                                    fs::recursive_directory_iterator());
    std::printf("| %d | %.1f | %ld | %ld | %ld | %.0f |\n", n, double(held.memory_kib) / 1024,
                held.threads, held.files, long(left),
                std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count());
    std::fflush(stdout);
  }
  const bool small = staysSmall(all);
  const int ended = server.end();
  if (ended != 0) std::printf("the server ended with %d\n", ended);
  return failed == 0 && small && ended == 0 ? 0 : 1;
}

}  // namespace

int main(int argc, char** argv) {
  if (argc < 3) return 2;
  try {
    return run(argc, argv);
  } catch (const std::exception& failure) {  // So that the server ends with it.
    std::fprintf(stderr, "%s\n", failure.what());
    return 1;
  }
}
