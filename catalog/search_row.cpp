// SPDX-License-Identifier: Apache-2.0
#include "catalog/search_row.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <cstring>
#include <limits>

#include "catalog/hold_record.h"
#include "catalog/lip_curve.h"
#include "catalog/mounting_row.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

constexpr std::uint8_t kVersion = 2;  // 1: without lips and mountings.
constexpr float kStep = 0.02F;        // Millimetres or degrees.
constexpr std::int16_t kMissing = std::numeric_limits<std::int16_t>::min();
constexpr std::array<const char*, 7> kWords = {"jug",    "edge",  "crimp",    "pocket",
                                               "sloper", "pinch", "foot-only"};

template <typename T>
void append(std::string& bytes, T value) {
  std::array<char, sizeof(T)> raw{};
  std::memcpy(raw.data(), &value, sizeof(T));
  bytes.append(raw.data(), raw.size());
}

template <typename T>
T take(std::string_view& bytes) {
  T value;
  if (bytes.size() < sizeof(T))
    throw BadInput("A search row of the library is damaged: run holdshelf check --repair.");
  std::memcpy(&value, bytes.data(), sizeof(T));
  bytes.remove_prefix(sizeof(T));
  return value;
}

std::int16_t toSteps(float value) {
  if (std::isnan(value)) return kMissing;
  return static_cast<std::int16_t>(std::clamp(std::round(value / kStep), -32767.0F, 32767.0F));
}

float fromSteps(std::int16_t steps) {
  return steps == kMissing ? std::numeric_limits<float>::quiet_NaN()
                           : static_cast<float>(steps) * kStep;
}

std::string takeText(std::string_view& bytes) {
  const std::size_t size = take<std::uint16_t>(bytes);
  if (bytes.size() < size)
    throw BadInput("A search row of the library is damaged: run holdshelf check --repair.");
  std::string text(bytes.substr(0, size));
  bytes.remove_prefix(size);
  return text;
}

/// As many as can be counted: no measured hold comes near, and what is counted wrong ends search.
std::uint16_t countable(std::size_t count) {
  return static_cast<std::uint16_t>(
      std::min<std::size_t>(count, std::numeric_limits<std::uint16_t>::max()));
}

void packTable(std::string& bytes, const NumberTable& table) {
  const std::uint16_t rows = countable(table.rows);
  const std::size_t columns = table.rows > 0 ? table.values.size() / table.rows : 0;
  append(bytes, rows);
  for (std::size_t i = 0; i < rows; ++i) append(bytes, toSteps(table.rotation_deg[i]));
  for (std::size_t i = 0; i < rows * columns; ++i) append(bytes, toSteps(table.values[i]));
}

NumberTable takeTable(std::string_view& bytes, std::size_t columns) {
  NumberTable table;
  table.rows = take<std::uint16_t>(bytes);
  for (std::size_t i = 0; i < table.rows; ++i)
    table.rotation_deg.push_back(fromSteps(take<std::int16_t>(bytes)));
  for (std::size_t i = 0; i < table.rows * columns; ++i)
    table.values.push_back(fromSteps(take<std::int16_t>(bytes)));
  return table;
}

}  // namespace

SearchRow searchRow(const Hold& hold) {
  SearchRow row;
  if (const Scan* scan = currentScan(hold)) {
    row.numbers = holdNumbers(scan->shape());
    row.signature = scan->signature();
    row.size_mm = static_cast<float>(scan->size_mm());
    row.lips = scan->lips();
    if (row.lips.empty() && scan->shape().sections_size() > 0)
      row.lips = packLips(lipRuns(scan->shape()));
    if (scan->has_grip_map()) row.mountings = packMountings(scan->grip_map());
  }
  for (const GripWord& word : hold.words()) {
    row.words.push_back(word);
    row.words.back().clear_reason();
  }
  row.L = static_cast<float>(hold.colour().l());
  row.a = static_cast<float>(hold.colour().a());
  row.b = static_cast<float>(hold.colour().b());
  return row;
}

std::string packSearchRow(const Hold& hold) {
  const SearchRow row = searchRow(hold);
  std::string bytes;
  append(bytes, kVersion);
  for (const float value : {row.L, row.a, row.b}) append(bytes, value);
  const std::uint16_t words = countable(row.words.size());
  append(bytes, words);
  for (std::size_t i = 0; i < words; ++i) {
    const GripWord& word = row.words[i];
    const auto at = std::find(kWords.begin(), kWords.end(), word.word());
    append(bytes, static_cast<std::uint8_t>(at - kWords.begin()));
    append(bytes, static_cast<float>(word.from_deg()));
    append(bytes, static_cast<float>(word.to_deg()));
  }
  const NumberTable& own = row.numbers.front();
  append(bytes, static_cast<std::uint8_t>(own.rows));
  for (const float value : own.values) append(bytes, value);
  for (std::size_t group = 1; group < kNumberGroups; ++group)
    packTable(bytes, row.numbers.at(group));
  append(bytes, row.size_mm);
  for (const std::string* part : {&row.lips, &row.mountings}) {
    append(bytes, static_cast<std::uint16_t>(part->size()));
    bytes += *part;
  }
  return bytes + row.signature;
}

SearchRow unpackSearchRow(std::string_view bytes) {
  SearchRow row;
  const auto version = take<std::uint8_t>(bytes);
  if (version != kVersion && version != 1)
    throw BadInput(
        "A search row of the library is of another version: run holdshelf check "
        "--repair.");
  row.L = take<float>(bytes);
  row.a = take<float>(bytes);
  row.b = take<float>(bytes);
  row.words.resize(take<std::uint16_t>(bytes));
  for (GripWord& word : row.words) {
    const auto index = take<std::uint8_t>(bytes);
    word.set_word(index < kWords.size() ? kWords.at(index) : "other");
    word.set_from_deg(take<float>(bytes));
    word.set_to_deg(take<float>(bytes));
  }
  NumberTable& own = row.numbers.front();
  own.rows = take<std::uint8_t>(bytes);
  own.rotation_deg.resize(own.rows);
  for (std::size_t i = 0; i < own.rows * columnCount(NumberGroup::Hold); ++i)
    own.values.push_back(take<float>(bytes));
  for (std::size_t group = 1; group < kNumberGroups; ++group)
    row.numbers.at(group) = takeTable(bytes, columnCount(static_cast<NumberGroup>(group)));
  row.size_mm = take<float>(bytes);
  if (version > 1)
    for (std::string* part : {&row.lips, &row.mountings}) *part = takeText(bytes);
  row.signature = bytes;
  return row;
}

}  // namespace holdshelf
