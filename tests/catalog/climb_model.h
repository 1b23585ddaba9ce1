// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <cstdio>
#include <map>
#include <set>
#include <string>

namespace holdshelf::test {

/// The library as one would keep it without a disk: where each record is, and of how many pieces.
class ClimbModel {
 public:
  enum class Where { Shelf, Crate, Wall, Wash, Joined };
  struct Record {
    Where where = Where::Shelf;
    int climb = 0, pieces = 1;
    std::string lot;  // That it was taken out of.
    bool used = false;
    int column = 0;
  };

  static std::string holdId(std::size_t n) {
    char id[32];
    std::snprintf(id, sizeof id, "H-%04zu", n);
    return id;
  }
  std::string add(const Record& record) {
    const std::string id = holdId(holds.size() + 1);
    holds[id] = record;
    return id;
  }
  bool here(const Record& r, int climb) const {
    return (r.where == Where::Crate || r.where == Where::Wall) && r.climb == climb &&
           stripped.count(climb) == 0;
  }
  bool freeColumn(int climb, int column, const std::string& but) const {
    for (const auto& [id, r] : holds)
      if (id != but && here(r, climb) && r.where == Where::Wall && r.column == column) return false;
    return true;
  }
  /// As many pieces of a lot as said: all of it, or a record of their own.
  std::string take(const std::string& lot, int pieces) {
    Record& from = holds[lot];
    if (pieces == from.pieces) return lot;
    from.pieces -= pieces;
    Record part = from;
    part.pieces = pieces;
    part.lot = from.lot.empty() ? lot : from.lot;
    part.used = false;
    return add(part);
  }
  void back(const std::string& id) {
    Record& r = holds[id];
    const auto lot = holds.find(r.lot);
    if (!r.used && lot != holds.end() && lot->second.where == Where::Shelf) {
      lot->second.pieces += r.pieces;
      r = {Where::Joined, 0, r.pieces, r.lot, r.used, 0};
    } else {
      r = {Where::Shelf, 0, r.pieces, r.lot, r.used, 0};
    }
  }
  int pieces() const {
    int sum = 0;
    for (const auto& [id, r] : holds)
      if (r.where != Where::Joined) sum += r.pieces;
    return sum;
  }

  std::map<std::string, Record> holds;
  std::set<int> stripped;
};

}  // namespace holdshelf::test
