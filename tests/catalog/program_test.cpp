// SPDX-License-Identifier: Apache-2.0
// The program as people meet it: each bad input gives one clear sentence and stores nothing.
#include <doctest/doctest.h>

#include <filesystem>
#include <fstream>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>

#include "catalog/blob_store.h"
#include "catalog/library.h"
#include "tests/catalog/run_program.h"
#include "tests/catalog/temp_folder.h"

using namespace holdshelf;
using namespace holdshelf::test;

namespace {

namespace fs = std::filesystem;

/// One 35 mm marker in the middle: enough of a mat for what must fail before any photo fits it.
constexpr const char* kMat = R"({"name": "test", "dictionary": "DICT_6X6_250", "markers": [
  {"id": 0, "corners": [{"x": -17.5, "y": 17.5}, {"x": 17.5, "y": 17.5},
                        {"x": 17.5, "y": -17.5}, {"x": -17.5, "y": -17.5}]}]})";
constexpr const char* kMatTwice = R"({"name": "test", "dictionary": "DICT_6X6_250", "markers": [
  {"id": 3, "corners": [{"x": -17.5, "y": 17.5}, {"x": 17.5, "y": 17.5},
                        {"x": 17.5, "y": -17.5}, {"x": -17.5, "y": -17.5}]},
  {"id": 3, "corners": [{"x": 82.5, "y": 17.5}, {"x": 117.5, "y": 17.5},
                        {"x": 117.5, "y": -17.5}, {"x": 82.5, "y": -17.5}]}]})";

void write(const fs::path& file, const std::string& bytes) {
  std::ofstream(file, std::ios::binary)
      .write(bytes.data(), static_cast<std::streamsize>(bytes.size()));
}

/// A sharp photo-like picture without any marker: grey with random discs, its own for each seed.
void writePhoto(const fs::path& file, int seed) {
  cv::RNG random(static_cast<std::uint64_t>(seed) + 1);
  cv::Mat picture(480, 640, CV_8UC3, cv::Scalar(120, 125, 130));
  for (int i = 0; i < 60; ++i)
    cv::circle(picture, {random.uniform(0, 640), random.uniform(0, 480)}, random.uniform(5, 60),
               cv::Scalar(random.uniform(0, 255), random.uniform(0, 255), random.uniform(0, 255)),
               cv::FILLED);
  cv::imwrite(file.string(), picture);
}

/// A capture folder and a library folder that every test starts from.
struct Bench {
  TempFolder folder;
  fs::path library = folder / "library";
  fs::path mat = folder / "mat.json";

  Bench() { write(mat, kMat); }

  std::vector<std::string> photos(int count) {
    std::vector<std::string> files;
    for (int i = 0; i < count; ++i) {
      const fs::path file = folder / ("photo" + std::to_string(i) + ".jpg");
      writePhoto(file, i);
      files.push_back(file.string());
    }
    return files;
  }

  ProgramRun intake(std::vector<std::string> photo_files, const fs::path& mat_file,
                    const std::vector<std::string>& more = {}) {
    std::vector<std::string> arguments = {"intake", "--library", library.string(), "--mat",
                                          mat_file.string()};
    arguments.insert(arguments.end(), more.begin(), more.end());
    arguments.insert(arguments.end(), photo_files.begin(), photo_files.end());
    return runProgram(arguments);
  }

  /// Whether the run failed as it should: status 1, one sentence that contains the word, nothing
  /// on standard output, no library made.
  void checkRefused(const ProgramRun& run, const std::string& word) {
    CAPTURE(run.err);
    CHECK(run.status == 1);
    CHECK(run.out.empty());
    // Progress lines come before; the sentence is the last line.
    const std::size_t last = run.err.rfind("holdshelf: ");
    REQUIRE(last != std::string::npos);
    CHECK(isOneSentence(run.err.substr(last)));
    CHECK(run.err.find(word, last) != std::string::npos);
    CHECK_FALSE(fs::exists(library));
  }
};

}  // namespace

TEST_CASE("program: a missing photo") {
  Bench bench;
  auto photos = bench.photos(8);
  photos[3] = (bench.folder / "gone.jpg").string();
  bench.checkRefused(bench.intake(photos, bench.mat), "gone.jpg");
}

TEST_CASE("program: a missing mat") {
  Bench bench;
  bench.checkRefused(bench.intake(bench.photos(8), bench.folder / "gone.json"), "gone.json");
}

TEST_CASE("program: files that are no images") {
  Bench bench;
  std::vector<std::string> files;
  for (int i = 0; i < 8; ++i) {
    files.push_back((bench.folder / ("note" + std::to_string(i) + ".jpg")).string());
    write(files.back(), "Not a photo at all, number " + std::to_string(i));
  }
  bench.checkRefused(bench.intake(files, bench.mat), "note0.jpg");
}

TEST_CASE("program: truncated JPEGs") {
  Bench bench;
  const auto photos = bench.photos(8);
  for (const std::string& photo : photos) {
    const std::string whole = readFile(photo);
    write(photo, whole.substr(0, whole.size() / 2));
  }
  bench.checkRefused(bench.intake(photos, bench.mat), "photo0.jpg");
}

TEST_CASE("program: photos without the mat") {
  Bench bench;
  bench.checkRefused(bench.intake(bench.photos(8), bench.mat), "mat");
}

TEST_CASE("program: three photos only") {
  Bench bench;
  bench.checkRefused(bench.intake(bench.photos(3), bench.mat), "photos");
}

TEST_CASE("program: a mat with the same marker twice") {
  Bench bench;
  const fs::path twice = bench.folder / "twice.json";
  write(twice, kMatTwice);
  bench.checkRefused(bench.intake(bench.photos(8), twice), "3");
}

TEST_CASE("program: an existing id") {
  Bench bench;
  std::int64_t before = 0;
  {
    Library library = Library::openOrCreate(bench.library);
    Event event;
    event.set_hold("H-0042");
    event.mutable_created()->set_name("there first");
    library.commit({event});
    before = library.lastEvent();
  }
  const ProgramRun run = bench.intake(bench.photos(8), bench.mat, {"--id", "H-0042"});
  CHECK(run.status == 1);
  CHECK(isOneSentence(run.err));
  CHECK(run.err.find("H-0042") != std::string::npos);
  const Library library = Library::open(bench.library);
  CHECK(library.lastEvent() == before);
  CHECK(library.hold("H-0042").name() == "there first");
}

TEST_CASE("program: rebuild that fails leaves no output folder") {
  Bench bench;
  const fs::path out = bench.folder / "out" / "deep";
  std::vector<std::string> arguments = {"rebuild", "--mat", bench.mat.string(), "--out",
                                        out.string()};
  for (const std::string& photo : bench.photos(8)) arguments.push_back(photo);
  CHECK(runProgram(arguments).status == 1);
  CHECK_FALSE(fs::exists(bench.folder / "out"));
}

TEST_CASE("program: wrong use is status 2 and starts nothing") {
  Bench bench;
  for (const std::vector<std::string>& arguments :
       {std::vector<std::string>{},
        {"nonsense"},
        {"intake"},
        {"show"},
        {"find", "--colur", "red"},
        {"rebuild", "--mat", "m.json", "--mat-scale", "7", "--out", "x", "p.jpg"},
        {"rebuild", "--mat-scale", "1", "--ruler", "100=98", "--out", "x", "p.jpg"}}) {
    const ProgramRun run = runProgram(arguments);
    CHECK(run.status == 2);
    CHECK_FALSE(run.err.empty());
  }
  CHECK(runProgram({"--help"}).status == 0);
  CHECK(runProgram({"--version"}).out.starts_with("holdshelf "));
}

TEST_CASE("program: flags that make no sense are refused in one sentence") {
  Bench bench;
  const std::string photo = bench.photos(1).front();
  for (const std::vector<std::string>& more : {std::vector<std::string>{"--ruler", "100"},
                                               {"--ruler", "100=20"},
                                               {"--ruler", "a=b"},
                                               {"--cameras", "c.txt", "--box", "1,2,3"},
                                               {"--cameras", "c.txt", "--mat", "m.json"},
                                               {}}) {
    std::vector<std::string> arguments = {"rebuild", "--out", (bench.folder / "o").string()};
    arguments.insert(arguments.end(), more.begin(), more.end());
    arguments.push_back(photo);
    const ProgramRun run = runProgram(arguments);
    CAPTURE(run.err);
    CHECK(run.status == 1);
    CHECK(isOneSentence(run.err));
  }
}

TEST_CASE("program: show and find on a library that is not there or has no such hold") {
  Bench bench;
  for (const std::string command : {"find", "show"}) {
    std::vector<std::string> arguments = {command, "--library", bench.library.string()};
    if (command == "show") arguments.emplace_back("H-0001");
    const ProgramRun run = runProgram(arguments);
    CHECK(run.status == 1);
    CHECK(isOneSentence(run.err));
    CHECK_FALSE(fs::exists(bench.library));
  }
}
