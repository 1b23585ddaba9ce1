// SPDX-License-Identifier: Apache-2.0
#include "catalog/batch_bytes.h"

#include <doctest/doctest.h>

#include "mesh/bad_input.h"

using namespace holdshelf;

TEST_CASE("batchBytes: what is written is read again, and what cannot be written is refused") {
  Batch batch;
  batch.set_previous(std::string(64, 'a'));
  for (int i = 0; i < 3; ++i) batch.add_events()->set_noted(std::string(1U << 20, 'n'));
  const std::string bytes = batchBytes(batch);
  Batch read;
  CHECK(read.ParseFromString(bytes));
  CHECK(read.events_size() == 3);
  CHECK(batchBytes(batch, bytes.size()) == bytes);
  CHECK_THROWS_WITH_AS(batchBytes(batch, 2U << 20),
                       doctest::Contains("3 MiB of events, of which 2"), BadInput);
  CHECK_THROWS_AS(batchBytes(batch, bytes.size() - 1), BadInput);
}

// The messages take 2 GiB of memory, and as much again where they are copied.
TEST_CASE("batchBytes: the most that protobuf takes" * doctest::skip()) {
  Batch batch;
  const std::string text(1U << 20, 'n');
  for (int i = 0; i < 2048; ++i) batch.add_events()->set_noted(text);
  CHECK_THROWS_AS(batchBytes(batch), BadInput);
  batch.mutable_events()->RemoveLast();
  CHECK(batchBytes(batch).size() > 2047U << 20);
}
