#pragma once

#include <array>
#include <cstdint>
#include <string>
#include <string_view>

namespace anfract {

/// What goes over the socket between the program and the process that reads for it.
enum class MessageKind : std::uint8_t {
    Request,   ///< pack_request, to the reading process
    Progress,  ///< fraction and stage
    File,      ///< folder and name of the next file of a zip
    Bytes,     ///< some of its bytes
    Reply,     ///< pack_parsed, pack_listing or, for Unpack, pack_done
};

/// Limits the reading process sets on itself before it looks at a file.
struct ReaderLimits {                // sent as it lies in memory, between two halves of one build
    std::uint64_t memory_bytes = 0;  ///< beyond the libraries'; 0: the memory of the machine
    std::uint64_t cpu_s = 3600;
    double quiet_s = 120;  ///< longest time without a word from it, kept by the program
};

/// Exit status of a reading process that could not limit itself and so has not looked at a file.
constexpr int no_sandbox = 3;

/// Sends one message whole. False when the other side has gone.
bool send_message(int socket, MessageKind kind, std::string_view bytes);

/// A message that comes in piece by piece.
class IncomingMessage {
  public:
    enum class State { Partial, Whole, Broken };

    /// Takes what is there, at most once, or waits for it. Broken: the other side has gone or sends
    /// what is no message. Whole: there is nothing more to take.
    enum class Wait { No, Yes };
    State take(int socket, Wait wait);

    MessageKind kind() const { return static_cast<MessageKind>(head_[0]); }
    std::string& bytes() { return bytes_; }

  private:
    std::array<char, 5> head_{};  ///< kind and size
    std::string bytes_;
    std::size_t taken_ = 0;
};

/// Waits for one message. False when the other side has gone or sends what is no message.
bool receive_message(int socket, MessageKind& kind, std::string& bytes);

/// The control socket: one call, its limits and its three files (call, memory file, status).
bool send_call(int control, const ReaderLimits& limits, const int (&files)[3]);
bool receive_call(int control, ReaderLimits& limits, int (&files)[3]);

}  // namespace anfract
