// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <cstdint>
#include <string>
#include <vector>

namespace holdshelf::test {

/// One thing that a client did to one object, as the client saw it.
struct Operation {
  enum class Kind {
    Write,  ///< The object becomes `value`.
    Read,   ///< The object was seen to be `value`.
    Take,   ///< The object, free (""), becomes `value`; refused: it was not free.
    Drop    ///< The object, being `value`, becomes free; refused: it was not `value`.
  };
  Kind kind = Kind::Read;
  std::string value = {};
  bool refused = false;  ///< The answer was a refusal.
  bool unknown = false;  ///< No answer came: it may have happened, at any time since, or not.
  std::int64_t began_ns = 0, ended_ns = 0;
  int client = 0;
  std::string said = {};  ///< The answer, for a person to read.
};

/// Whether the operations on one object can be put in an order in which each takes effect at one
/// moment between its beginning and its end and every answer is right (linearizability: Herlihy and
/// Wing, ACM TOPLAS 12(3), 1990). Objects can be judged one by one, for the property is local
/// (their theorem 1).
///
/// All orders are followed at once, in the order of the history's beginnings and ends: a
/// configuration is the object's value and which of the open operations have taken effect by now
/// (just-in-time linearization: Lowe, Concurrency and Computation 29(4), 2017, after Wing and Gong,
/// J. Parallel Distrib. Comput. 17, 1993). Exact; no more than 30 operations may be open at once.
///
/// @param initial  The object's value before all of them.
/// @return  Empty: linearizable. Else the operation at which no order is left, in words.
std::string whyNotLinearizable(const std::vector<Operation>& operations,
                               const std::string& initial);

}  // namespace holdshelf::test
