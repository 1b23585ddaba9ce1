// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <cstddef>
#include <cstdint>
#include <iterator>
#include <list>
#include <memory>
#include <mutex>
#include <string>
#include <utility>

namespace holdshelf {

/// Values by key, the ones used last; safe from several threads. What is asked for while it is
/// being made is made once.
template <typename Value>
class RecentValues {
 public:
  explicit RecentValues(std::size_t most) : most_(most) {}
  /// @param most_bytes  Of all values together; the one that was made last stays even if it alone
  ///                    has more. For values that have a size().
  RecentValues(std::size_t most, std::size_t most_bytes)
      : most_(most),
        most_bytes_(most_bytes),
        size_([](const Value& value) { return value.size(); }) {}

  template <typename Make>
  std::shared_ptr<const Value> get(const std::string& key, const Make& make) {
    std::shared_ptr<Slot> slot = slotOf(key);
    const std::lock_guard lock(slot->mutex);
    if (!slot->value) {
      slot->value = make();  // A throw leaves the slot empty for the next one.
      if (size_ != nullptr) weigh(*slot);
    }
    return slot->value;
  }

  /// What is there; nullptr: it was not asked for, or is being made.
  std::shared_ptr<const Value> made(const std::string& key) {
    std::shared_ptr<Slot> slot;
    {
      const std::lock_guard lock(mutex_);
      slot = knownSlot(key);
    }
    if (slot == nullptr) return nullptr;
    const std::unique_lock lock(slot->mutex, std::try_to_lock);
    return lock ? slot->value : nullptr;
  }

  /// What was made for the key is made anew when it is asked for next.
  void forget(const std::string& key) {
    const std::lock_guard lock(mutex_);
    recent_.remove_if([&](const auto& one) { return one.first == key; });
  }

 private:
  struct Slot {
    std::mutex mutex;
    std::shared_ptr<const Value> value;
    std::size_t bytes = 0;  ///< Written and read with the mutex of all slots.
  };

  /// With the lock of all slots.
  std::shared_ptr<Slot> knownSlot(const std::string& key) {
    for (auto i = recent_.begin(); i != recent_.end(); ++i)
      if (i->first == key) {
        recent_.splice(recent_.begin(), recent_, i);
        return i->second;
      }
    return nullptr;
  }

  std::shared_ptr<Slot> slotOf(const std::string& key) {
    const std::lock_guard lock(mutex_);
    if (auto slot = knownSlot(key)) return slot;
    recent_.emplace_front(key, std::make_shared<Slot>());
    if (recent_.size() > most_) recent_.pop_back();
    return recent_.front().second;
  }

  /// Drops those that were used longest ago until all together have no more than they may. With the
  /// lock of the slot, which is never waited for with that of all.
  void weigh(Slot& made) {
    const std::lock_guard lock(mutex_);
    made.bytes = size_(*made.value);
    std::size_t bytes = 0;
    for (auto i = recent_.begin(); i != recent_.end();) {
      bytes += i->second->bytes;
      const bool stays = bytes <= most_bytes_ || i->second.get() == &made;
      i = stays ? std::next(i) : recent_.erase(i);
    }
  }

  const std::size_t most_, most_bytes_ = SIZE_MAX;
  std::size_t (*const size_)(const Value&) = nullptr;
  std::mutex mutex_;
  std::list<std::pair<std::string, std::shared_ptr<Slot>>> recent_;
};

}  // namespace holdshelf
