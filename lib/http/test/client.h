#pragma once

#include <chrono>
#include <cstdint>
#include <map>
#include <memory>
#include <string>
#include <vector>

namespace anfract::http::test {

struct Reply {
    int status = 0;                              ///< 0: the connection ended without an answer
    std::map<std::string, std::string> headers;  ///< names in lower case
    std::string body;                            ///< as it came, still compressed if it was
};

using Headers = std::vector<std::pair<std::string, std::string>>;

/// One request on a connection of its own, by Boost.Beast. Host and a media type are set unless
/// given.
Reply ask(std::uint16_t port, const std::string& method, const std::string& target,
          const std::string& body = "", const Headers& headers = {});

/// The same over TLS, where the server must show this certificate.
Reply ask_encrypted(std::uint16_t port, const std::string& certificate, const std::string& method,
                    const std::string& target, const std::string& body = "",
                    const Headers& headers = {});

/// A certificate of its own for 127.0.0.1 and anfract.test, and its key with mode 0600, written as
/// cert.pem and key.pem into the folder by OpenSSL's program.
void make_certificate(const std::string& folder);

/// A plain socket, for what no honest client sends.
class RawConnection {
  public:
    explicit RawConnection(std::uint16_t port);
    ~RawConnection();
    RawConnection(const RawConnection&) = delete;
    RawConnection& operator=(const RawConnection&) = delete;

    /// False when the other side has closed.
    bool send(const std::string& bytes);
    /// Closes the sending side only.
    void end_of_input();
    /// Reads until the text was seen, the other side closes, or the time is over; returns
    /// everything read so far.
    const std::string& read_until(const std::string& text,
                                  std::chrono::milliseconds limit = std::chrono::seconds(10));
    /// Reads until the other side closes; false when it has not within the time.
    bool closes_within(std::chrono::milliseconds limit);
    const std::string& received() const { return received_; }

  private:
    struct Implementation;
    std::unique_ptr<Implementation> implementation_;
    std::string received_;
};

/// What gzip wrote, unpacked; throws on anything else.
std::string gunzip(const std::string& bytes);

}  // namespace anfract::http::test
