// SPDX-License-Identifier: Apache-2.0
#include "catalog/postgres.h"

#include <libpq-fe.h>
#include <poll.h>

#include <bit>
#include <cerrno>
#include <cstring>

namespace holdshelf::postgres {
namespace {

constexpr std::size_t kMostPrepared = 128;  // The library's own are under a hundred.
constexpr const char* kLimit = "54000";     // SQLSTATE program_limit_exceeded.

// Type numbers of PostgreSQL's catalogue (pg_type.dat), fixed for ever.
constexpr unsigned kInt8 = 20, kFloat8 = 701, kText = 25, kBytea = 17;
constexpr unsigned kInt8Array = 1016, kFloat8Array = 1022, kTextArray = 1009, kByteaArray = 1001;

/// Most significant byte first, as the protocol has it.
template <typename Integer>
std::string bigEndian(Integer value) {
  std::string bytes(sizeof value, '\0');
  for (std::size_t i = 0; i < sizeof value; ++i)
    bytes[sizeof value - 1 - i] = static_cast<char>(value >> (8 * i) & 0xff);
  return bytes;
}

std::string bigEndian(double value) { return bigEndian(std::bit_cast<std::uint64_t>(value)); }

std::uint64_t fromBigEndian(std::string_view bytes) {
  std::uint64_t value = 0;
  for (const char byte : bytes) value = value << 8 | static_cast<unsigned char>(byte);
  return value;
}

std::string withoutNewline(std::string text) {
  while (!text.empty() && (text.back() == '\n' || text.back() == ' ')) text.pop_back();
  for (char& c : text)
    if (c == '\n') c = ' ';
  return text;
}

}  // namespace

bool Error::isDamage() const {
  return state_ == "XX001" || state_ == "XX002";  // data_corrupted, index_corrupted
}

Values& Values::add(std::int64_t value) {
  bytes_.push_back(bigEndian(static_cast<std::uint64_t>(value)));
  types_.push_back(kInt8);
  return *this;
}

Values& Values::add(double value) {
  bytes_.push_back(bigEndian(value));
  types_.push_back(kFloat8);
  return *this;
}

Values& Values::add(std::string_view text) {
  bytes_.emplace_back(text);
  types_.push_back(kText);
  return *this;
}

Values& Values::addBytes(std::string_view bytes) {
  bytes_.emplace_back(bytes);
  types_.push_back(kBytea);
  return *this;
}

// One dimension: dimensions, whether there are nulls, element type, length, first index; then each
// element with its length before it. Source: PostgreSQL's array_send (arrayfuncs.c).
Values& Values::addArray(unsigned type, unsigned element,
                         const std::vector<std::optional<std::string_view>>& elements) {
  std::string bytes = bigEndian(std::uint32_t{elements.empty() ? 0U : 1U}) +
                      bigEndian(std::uint32_t{1}) + bigEndian(std::uint32_t{element});
  if (!elements.empty())
    bytes += bigEndian(static_cast<std::uint32_t>(elements.size())) + bigEndian(std::uint32_t{1});
  for (const auto& value : elements) {
    bytes += bigEndian(value ? static_cast<std::uint32_t>(value->size()) : ~std::uint32_t{0});
    if (value) bytes += *value;
  }
  bytes_.push_back(std::move(bytes));
  types_.push_back(type);
  return *this;
}

Values& Values::add(const std::vector<std::int64_t>& values) {
  std::vector<std::string> encoded;
  encoded.reserve(values.size());
  for (const std::int64_t value : values)
    encoded.push_back(bigEndian(static_cast<std::uint64_t>(value)));
  return addArray(kInt8Array, kInt8, {encoded.begin(), encoded.end()});
}

Values& Values::add(const std::vector<std::optional<double>>& values) {
  std::vector<std::string> encoded(values.size());
  std::vector<std::optional<std::string_view>> elements(values.size());
  for (std::size_t i = 0; i < values.size(); ++i)
    if (values[i]) elements[i] = encoded[i] = bigEndian(*values[i]);
  return addArray(kFloat8Array, kFloat8, elements);
}

Values& Values::add(const std::vector<std::string_view>& texts) {
  return addArray(kTextArray, kText, {texts.begin(), texts.end()});
}

Values& Values::addBytes(const std::vector<std::string_view>& bytes) {
  return addArray(kByteaArray, kBytea, {bytes.begin(), bytes.end()});
}

void Rows::Clear::operator()(pg_result* result) const { PQclear(result); }

int Rows::size() const { return PQntuples(result_.get()); }

bool Rows::isNull(int row, int column) const {
  return PQgetisnull(result_.get(), row, column) != 0;
}

std::string_view Rows::bytes(int row, int column) const {
  return {PQgetvalue(result_.get(), row, column),
          static_cast<std::size_t>(PQgetlength(result_.get(), row, column))};
}

std::int64_t Rows::integer(int row, int column) const {
  const std::string_view value = bytes(row, column);
  const std::uint64_t bits = fromBigEndian(value);
  return value.size() == 4 ? static_cast<std::int32_t>(static_cast<std::uint32_t>(bits))
                           : static_cast<std::int64_t>(bits);
}

double Rows::real(int row, int column) const {
  return std::bit_cast<double>(fromBigEndian(bytes(row, column)));
}

std::int64_t Rows::touched() const {
  const char* count = PQcmdTuples(result_.get());
  return *count == '\0' ? 0 : std::stoll(count);
}

void Connection::Close::operator()(pg_conn* connection) const { PQfinish(connection); }

Connection::Connection(const std::string& address) {
  // What the address does not say is as libpq's environment has it. Keep-alives and a limit on
  // unanswered bytes, so that a peer that vanished is noticed in about half a minute.
  const char* const keys[] = {"keepalives_idle",  "keepalives_interval",
                              "keepalives_count", "tcp_user_timeout",
                              "connect_timeout",  "dbname",
                              "application_name", nullptr};
  const char* const values[] = {"10",        "5",    "3", "30000", "10", address.c_str(),
                                "holdshelf", nullptr};
  connection_.reset(PQconnectdbParams(keys, values, 1));
  if (PQstatus(connection_.get()) != CONNECTION_OK) fail(nullptr);
  // Libraries never print.
  PQsetNoticeProcessor(
      connection_.get(), [](void*, const char*) {}, nullptr);
  execute(
      "SET client_encoding TO 'UTF8'; SET search_path TO holdshelf;"
      // What a filter leaves depends on its values: a plan for any of them would read the table.
      "SET plan_cache_mode TO force_custom_plan");
}

void Connection::fail(const pg_result* result) const {
  const char* state = result ? PQresultErrorField(result, PG_DIAG_SQLSTATE) : nullptr;
  const char* message = result ? PQresultErrorField(result, PG_DIAG_MESSAGE_PRIMARY) : nullptr;
  throw Error(state ? state : "",
              withoutNewline(message ? message : PQerrorMessage(connection_.get())));
}

/// Refused here, the server says why and the connection stays; sent to it, it would close it.
void Values::needRoom() const {
  constexpr std::size_t kMost = (std::size_t{1} << 30) - (std::size_t{1} << 16);
  std::size_t sum = 0;
  for (const std::string& value : bytes_) sum += value.size();
  if (sum > kMost)
    throw Error(kLimit, "what is to be stored at once comes to " + std::to_string(sum >> 20) +
                            " MiB, and a database takes less than 1024");
}

Rows Connection::run(const std::string& sql, const Values& values) {
  values.needRoom();
  const auto count = static_cast<int>(values.bytes_.size());
  auto name = prepared_.find(sql);
  if (name == prepared_.end()) {
    if (prepared_.size() >= kMostPrepared) forgetPrepared();
    const std::string made = "s" + std::to_string(prepared_.size());
    pg_result* answer =
        PQprepare(connection_.get(), made.c_str(), sql.c_str(), count, values.types_.data());
    const Rows cleared_in_the_end(answer);
    if (PQresultStatus(answer) != PGRES_COMMAND_OK) fail(answer);
    name = prepared_.emplace(sql, made).first;
  }
  std::vector<const char*> data;
  std::vector<int> lengths, binary(values.bytes_.size(), 1);
  for (const std::string& value : values.bytes_) {
    data.push_back(value.data());
    lengths.push_back(static_cast<int>(value.size()));
  }
  pg_result* result = PQexecPrepared(connection_.get(), name->second.c_str(), count, data.data(),
                                     lengths.data(), binary.data(), 1);
  Rows rows(result);
  const ExecStatusType status = PQresultStatus(result);
  if (status != PGRES_TUPLES_OK && status != PGRES_COMMAND_OK) fail(result);
  return rows;
}

/// The server keeps each until then, with all that it found out about it.
void Connection::forgetPrepared() {
  execute("DEALLOCATE ALL");
  prepared_.clear();
}

void Connection::execute(const std::string& sql) {
  pg_result* result = PQexec(connection_.get(), sql.c_str());
  const Rows rows(result);
  const ExecStatusType status = PQresultStatus(result);
  if (status != PGRES_TUPLES_OK && status != PGRES_COMMAND_OK) fail(result);
}

bool Connection::inTransaction() const {
  const PGTransactionStatusType status = PQtransactionStatus(connection_.get());
  return status == PQTRANS_INTRANS || status == PQTRANS_INERROR;
}

bool Connection::hasFailed() const {
  return PQtransactionStatus(connection_.get()) == PQTRANS_INERROR;
}

bool Connection::isLost() const { return PQstatus(connection_.get()) != CONNECTION_OK; }

bool Connection::waitNotified(std::chrono::milliseconds longest) {
  const auto until = std::chrono::steady_clock::now() + longest;
  for (;;) {
    if (PQconsumeInput(connection_.get()) == 0) fail(nullptr);
    bool notified = false;
    while (PGnotify* note = PQnotifies(connection_.get())) {
      PQfreemem(note);
      notified = true;
    }
    if (notified) return true;
    const auto left = std::chrono::duration_cast<std::chrono::milliseconds>(
        until - std::chrono::steady_clock::now());
    if (left.count() <= 0) return false;
    pollfd wait = {PQsocket(connection_.get()), POLLIN, 0};
    if (::poll(&wait, 1, static_cast<int>(left.count())) < 0 && errno == EINTR) return false;
  }
}

Transaction::Transaction(Connection& connection, const char* begin) : connection_(connection) {
  try {
    connection_.execute(begin);
  } catch (const Error&) {
    rollBack();  // It may have begun before it failed, to get a lock, say.
    throw;
  }
}

Transaction::~Transaction() {
  if (open_) rollBack();
}

void Transaction::rollBack() {
  try {
    connection_.execute("ROLLBACK");
  } catch (const Error&) {  // The server undoes what a lost connection began.
  }
}

void Transaction::commit() {
  if (connection_.hasFailed())
    throw Error("25P02", "a statement before it failed, and with it the whole transaction");
  connection_.execute("COMMIT");
  open_ = false;
}

}  // namespace holdshelf::postgres
