// SPDX-License-Identifier: Apache-2.0
#include "catalog/pick_pdf.h"

#include <doctest/doctest.h>

#include <cmath>
#include <cstdio>
#include <fstream>
#include <regex>
#include <string>
#include <vector>

#include "catalog/bolt_bag.h"
#include "mesh/bad_input.h"
#include "tests/catalog/temp_folder.h"

using namespace holdshelf;
using namespace holdshelf::test;

namespace {

struct Word {
  double left_mm, top_mm, right_mm, bottom_mm;
  std::string text;
};
struct Page {
  double width_mm, height_mm;
  std::vector<Word> words;
};

/// The file as poppler's pdftotext reads it, which shares nothing with the writer.
std::vector<Page> readBack(const std::string& pdf) {
  TempFolder folder;
  const std::string file = (folder / "list.pdf").string();
  std::ofstream(file, std::ios::binary) << pdf;
  std::string html;
  FILE* pipe = popen(("pdftotext -bbox '" + file + "' -").c_str(), "r");
  REQUIRE(pipe != nullptr);
  char buffer[4096];
  for (std::size_t n; (n = std::fread(buffer, 1, sizeof buffer, pipe)) > 0;) html.append(buffer, n);
  REQUIRE(pclose(pipe) == 0);
  const std::regex tag(
      "<page width=\"([0-9.]+)\" height=\"([0-9.]+)\"|<word xMin=\"([-0-9.]+)\" "
      "yMin=\"([-0-9.]+)\" "
      "xMax=\"([-0-9.]+)\" yMax=\"([-0-9.]+)\">([^<]*)</word>");
  constexpr double kPoint_mm = 25.4 / 72;
  std::vector<Page> pages;
  for (std::sregex_iterator it(html.begin(), html.end(), tag), end; it != end; ++it) {
    const auto mm = [&](std::size_t i) { return std::stod((*it)[i].str()) * kPoint_mm; };
    if ((*it)[1].matched)
      pages.push_back({mm(1), mm(2), {}});
    else
      pages.back().words.push_back({mm(3), mm(4), mm(5), mm(6), (*it)[7].str()});
  }
  return pages;
}

std::string textOf(const std::vector<Page>& pages) {
  std::string text;
  for (const Page& page : pages)
    for (const Word& word : page.words) text += (text.empty() ? "" : " ") + word.text;
  return text;
}

/// Twelve holds in four bins, one countersunk, one not placed in a zone of unlike panels.
PickList someList() {
  PickList list;
  list.mutable_climb()->set_id("C-0001");
  list.mutable_climb()->set_name("green 7");
  std::vector<BoltQuestion> questions;
  for (int i = 0; i < 12; ++i) {
    BoltQuestion question;
    question.hold = "H-00" + std::to_string(10 + i);
    question.panel.set_thread(M10);
    question.panel.set_panel_mm(18);
    question.panel.set_barrel_mm(11);
    BoltSeat& seat = question.seats.emplace_back();
    seat.set_kind(i == 3 ? BoltSeat::CONE : BoltSeat::FLAT);
    seat.mutable_seat_height_mm()->set_value(i == 3 ? 14 : 22);
    if (i == 5) {
      Panel thick = question.panel;
      thick.set_panel_mm(24);
      question.assumed_panel = "lower";
      question.elsewhere = {{"upper", thick}};
    }
    questions.push_back(question);
  }
  *list.mutable_bolts() = packBolts(questions, {});
  for (int i = 0; i < 12; ++i) {
    if (i % 3 == 0) list.add_bins()->set_bin("B" + std::to_string(i / 3));
    PickLine& line = *list.mutable_bins()->rbegin()->add_lines();
    line.set_hold(questions[static_cast<std::size_t>(i)].hold);
    line.set_name("hold");
    line.set_bolt(list.bolts().bolts(i).label());
  }
  return list;
}

}  // namespace

TEST_CASE("pick list: both papers, read back: all lines, both heads, warnings and cautions") {
  const PickList list = someList();
  // ISO 216: A4 is 210 by 297 mm, A6 105 by 148.
  for (const auto& [paper, width_mm, height_mm] :
       {std::tuple("A4", 210.0, 297.0), std::tuple("pocket", 105.0, 148.0)}) {
    CAPTURE(paper);
    const auto pages = readBack(pickPdf(list, paper));
    REQUIRE_FALSE(pages.empty());
    for (const Page& page : pages) {
      CHECK(std::abs(page.width_mm - width_mm) < 0.1);
      CHECK(std::abs(page.height_mm - height_mm) < 0.1);
      for (const Word& word : page.words) {
        CAPTURE(word.text);
        CHECK(word.left_mm > 4);
        CHECK(word.right_mm < width_mm - 4);
        CHECK(word.top_mm > 3);
        CHECK(word.bottom_mm < height_mm - 3);
      }
    }
    const std::string text = textOf(pages);
    for (const PickBin& bin : list.bins())
      for (const PickLine& line : bin.lines()) CHECK(text.find(line.hold()) != std::string::npos);
    CHECK(text.find("11 × M10 × 40") != std::string::npos);
    CHECK(text.find("1 × M10 × 40 countersunk") != std::string::npos);
    CHECK(text.find("! H-0015: Not placed yet: on lower it takes M10 × 40, on upper M10 × 50") !=
          std::string::npos);
    for (const std::string& caution : boltCautions()) {
      // Apostrophes and such are escaped by the reader.
      const std::string start = caution.substr(0, caution.find_first_of("'&\""));
      CHECK(text.find(start) != std::string::npos);
    }
    CHECK(text.find("Tighten by hand feel") != std::string::npos);
  }
  CHECK(readBack(pickPdf(list, "pocket")).size() > readBack(pickPdf(list, "A4")).size());
  CHECK_THROWS_AS((void)pickPdf(list, "A3"), BadInput);
}
