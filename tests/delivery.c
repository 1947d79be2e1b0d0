/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Posts against a receiver, and against servers with certificates of an
 * authority made here with openssl's command line (socat carries the TLS);
 * without those two tools that part is skipped.
 */
#include "tests/cm.h"

#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <sys/prctl.h>
#include <sys/wait.h>
#include <unistd.h>

#include "conf/memory.h"
#include "conf/readfile.h"
#include "daemon/delivery.h"
#include "daemon/sign.h"
#include "daemon/when.h"
#include "tests/postroom.h"

enum { PATIENCE = 40 /* s */ };

static const char secret[] = "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw";

struct fixture {
	struct postroom room;
	struct delivery *delivery;
	int idle[2];            /* a pipe on which nothing comes */
	pid_t tunnel;           /* 0: none */
};

static int set_up(void **state)
{
	static struct fixture f;

	f = (struct fixture){ 0 };
	postroom_open(&f.room);
	f.delivery = delivery_new();
	assert_non_null(f.delivery);
	assert_int_equal(pipe2(f.idle, O_CLOEXEC), 0);
	*state = &f;
	return 0;
}

static int tear_down(void **state)
{
	struct fixture *f = *state;

	if (f->tunnel > 0) {
		kill(f->tunnel, SIGTERM);
		waitpid(f->tunnel, NULL, 0);
	}
	unsetenv("SSL_CERT_FILE");
	unsetenv("SSL_CERT_DIR");
	delivery_free(f->delivery);
	close(f->idle[0]);
	close(f->idle[1]);
	postroom_close(&f->room);
	return 0;
}

static struct delivered result_of(struct fixture *f, const struct post *post)
{
	double begin = when_monotonic();
	struct delivered done;
	int token;

	assert_true(delivery_post(f->delivery, post, &token));
	while (!delivery_take(f->delivery, &done)) {
		assert_true(when_monotonic() - begin < PATIENCE);
		delivery_wait(f->delivery, f->idle[0], 1);
	}
	assert_ptr_equal(done.token, &token);
	return done;
}

static struct delivered post_to(struct fixture *f, const char *endpoint)
{
	const struct post post = {
		.endpoint = endpoint,
		.id = "msg_1",
		.content_type = "text/plain",
		.body = "T3 too dry",
		.timestamp = 1767225600,
	};

	return result_of(f, &post);
}

static void receiver(struct fixture *f, const char *answers)
{
	const char *const options[] = { "--answers", answers, NULL };

	postroom_receiver(&f->room, "phone", options);
}

/* ---- what is sent ----------------------------------------------------------- */

static const char *header(json_t *request, const char *name)
{
	return json_string_value(json_object_get(json_object_get(request, "headers"), name));
}

static void head_body_and_signature(void **state)
{
	struct fixture *f = *state;
	char signature[SIGNATURE_SIZE];

	receiver(f, "200");
	const struct post post = {
		.endpoint = f->room.webhooks[0].endpoint,
		.secret = secret,
		.id = "msg_p5jXN8AQM9LWM0D4loKWxJek",
		.content_type = "application/json",
		.headers = "X-Title: T3 too dry, ä\nX-Empty:\nno header\n: nameless\nX-Last: a:b\r\n",
		.body = "{\"test\": 2432232314}",
		.timestamp = 1614265330,
	};

	assert_int_equal(result_of(f, &post).outcome, DELIVERED_IT);
	json_t *list = postroom_requests(&f->room, 0), *request = json_array_get(list, 0);

	assert_string_equal(header(request, "webhook-id"), post.id);
	assert_string_equal(header(request, "webhook-timestamp"), "1614265330");
	assert_string_equal(header(request, "webhook-signature"),
			    sign(secret, post.id, post.timestamp, post.body, signature));
	assert_string_equal(header(request, "content-type"), "application/json");
	assert_string_equal(header(request, "x-title"), "T3 too dry, ä");
	assert_string_equal(header(request, "x-empty"), "");
	assert_string_equal(header(request, "x-last"), "a:b");
	assert_null(header(request, "no header"));
	assert_string_equal(json_string_value(json_object_get(request, "body")), post.body);
	json_decref(list);
}

/* ---- what comes back --------------------------------------------------------- */

static void the_status_decides(void **state)
{
	struct fixture *f = *state;
	static const struct {
		long status;
		enum outcome outcome;
	} cases[] = {
		{ 200, DELIVERED_IT }, { 202, DELIVERED_IT }, { 204, DELIVERED_IT },
		{ 302, REFUSED_IT }, { 400, REFUSED_IT }, { 404, REFUSED_IT }, { 410, REFUSED_IT },
		{ 408, TRY_AGAIN }, { 425, TRY_AGAIN }, { 429, TRY_AGAIN }, { 500, TRY_AGAIN },
		{ 502, TRY_AGAIN }, { 503, TRY_AGAIN },
	};

	receiver(f, "200,202,204,302,400,404,410,408,425,429,500,502,503");
	for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
		struct delivered done = post_to(f, f->room.webhooks[0].endpoint);

		assert_int_equal(done.status, cases[i].status);
		assert_int_equal(done.outcome, cases[i].outcome);
	}
}

/* A redirect is told as it came; the place it names hears nothing. */
static void no_redirect_is_followed(void **state)
{
	struct fixture *f = *state;

	receiver(f, "302");
	struct delivered done = post_to(f, f->room.webhooks[0].endpoint);
	json_t *list = postroom_requests(&f->room, 0);

	assert_int_equal(done.status, 302);
	assert_int_equal(json_array_size(list), 1);
	json_decref(list);
}

/* reference: RFC 9110, section 10.2.3: seconds or a date. */
static void when_to_come_again(void **state)
{
	struct fixture *f = *state;
	static const struct {
		double low, high;
	} cases[] = {
		{ 0, 0 }, { 7, 7 }, { 90, 101 }, { 1, 1 }, { 3600, 3600 }, { 3600, 3600 },
		{ 0, 0 }, { 9, 9 },
	};

	receiver(f, "500,503:7,429@100,503@-100000,503:86400,503@999999,503:-5,413:9");
	for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
		struct delivered done = post_to(f, f->room.webhooks[0].endpoint);

		if (done.retry_after < cases[i].low || done.retry_after > cases[i].high)
			fail_msg("answer %zu: %g s", i, done.retry_after);
	}
}

static void other_protocols_are_none(void **state)
{
	struct fixture *f = *state;
	static const char *const endpoints[] = { "file:///etc/hostname", "ftp://localhost/x",
						 "gopher://localhost/x", "scp://localhost/x" };

	for (size_t i = 0; i < sizeof endpoints / sizeof *endpoints; i++) {
		struct delivered done = post_to(f, endpoints[i]);

		assert_int_equal(done.status, 0);
		assert_int_equal(done.outcome, TRY_AGAIN);
		assert_non_null(strstr(done.why, "protocol"));
	}
}

/* reference: RFC 9110, section 15: a status has three digits. */
static void a_strange_status_is_none(void **state)
{
	struct fixture *f = *state;

	receiver(f, "strange");
	struct delivered done = post_to(f, f->room.webhooks[0].endpoint);

	assert_int_equal(done.status, 0);
	assert_int_equal(done.outcome, TRY_AGAIN);
	assert_non_null(strstr(done.why, "does not speak HTTP"));
}

/* Bounded in bytes and time, whatever the other end goes on saying. */
static void without_end(void **state)
{
	struct fixture *f = *state;
	static const long statuses[] = { 200, 503, 200, 500 };
	double begin = when_monotonic();

	receiver(f, "endless,headers,200+10,500+10");
	for (size_t i = 0; i < sizeof statuses / sizeof *statuses; i++)
		assert_int_equal(post_to(f, f->room.webhooks[0].endpoint).status, statuses[i]);
	print_message("four answers without end took %.2f s\n", when_monotonic() - begin);
	assert_true(when_monotonic() - begin < 10);
}

/* ---- TLS ------------------------------------------------------------------------ */

/* Runs it in the fixture's folder; its output goes to a file there. */
static void run(const struct fixture *f, const char *command)
{
	char *line = must_print("cd %s && { %s; } >> tools.out 2>&1", f->room.folder, command);

	if (system(line) != 0)
		fail_msg("failed: %s", command);
	free(line);
}

static bool has_tools(void)
{
	return system("command -v openssl > /dev/null && command -v socat > /dev/null") == 0;
}

/* An authority, and a server certificate of its for a host name. */
static void make_authority(const struct fixture *f, const char *name, const char *host)
{
	char *command = must_print(
		"openssl req -x509 -newkey ec -pkeyopt ec_paramgen_curve:P-256 -nodes -days 2 "
		"-subj '/CN=%1$s' -keyout %1$s.key -out %1$s.pem && "
		"openssl req -newkey ec -pkeyopt ec_paramgen_curve:P-256 -nodes -subj '/CN=%2$s' "
		"-keyout %1$s-server.key -out %1$s-server.csr && "
		"echo 'subjectAltName=DNS:%2$s' > %1$s.ext && "
		"openssl x509 -req -in %1$s-server.csr -CA %1$s.pem -CAkey %1$s.key "
		"-CAcreateserial -days 2 -extfile %1$s.ext -out %1$s-server.pem && "
		"cat %1$s-server.key %1$s-server.pem > %1$s-both.pem", name, host);

	run(f, command);
	free(command);
}

/* The port that socat says it has got. */
static int port_of_tunnel(const struct fixture *f)
{
	char *path = must_print("%s/socat.err", f->room.folder);
	double begin = when_monotonic();
	int port = 0;

	while (port == 0) {
		size_t size;
		char *text = file_read(path, 1 << 16, &size);
		char *at = text ? strstr(text, "listening on") : NULL;
		char *colon = at ? strrchr(at, ':') : NULL;

		if (colon && strchr(colon, '\n'))
			port = (int)strtol(colon + 1, NULL, 10);
		free(text);
		if (when_monotonic() - begin > PATIENCE)
			fail_msg("socat does not listen");
		poll(NULL, 0, 20);
	}
	free(path);
	return port;
}

/* TLS in front of the receiver, with that authority's certificate; returns
 * the endpoint. */
static char *tunnel(struct fixture *f, const char *authority)
{
	long port = strtol(strrchr(f->room.webhooks[0].endpoint, ':') + 1, NULL, 10);
	char *listen = must_print("OPENSSL-LISTEN:0,bind=127.0.0.1,reuseaddr,fork,verify=0,"
				  "cert=%s/%s-both.pem", f->room.folder, authority);
	char *to = must_print("TCP:127.0.0.1:%ld", port);
	char *path = must_print("%s/socat.err", f->room.folder);

	f->tunnel = fork();
	assert_true(f->tunnel >= 0);
	if (f->tunnel == 0) {
		int fd = open(path, O_WRONLY | O_CREAT | O_TRUNC, 0600);

		dup2(fd, STDERR_FILENO);
		prctl(PR_SET_PDEATHSIG, SIGTERM);
		execlp("socat", "socat", "-d", "-d", listen, to, (char *)NULL);
		_exit(127);
	}
	free(path);
	free(to);
	free(listen);
	return must_print("https://localhost:%d/hook", port_of_tunnel(f));
}

static void trust(const struct fixture *f, const char *authority)
{
	char *path = must_print("%s/%s.pem", f->room.folder, authority);

	setenv("SSL_CERT_FILE", path, 1);
	free(path);
}

static void expect_refused(struct fixture *f, const char *endpoint)
{
	struct delivered done = post_to(f, endpoint);
	json_t *list = postroom_requests(&f->room, 0);

	print_message("refused: %s\n", done.why);
	assert_int_equal(done.status, 0);
	assert_int_equal(done.outcome, TRY_AGAIN);
	assert_non_null(strstr(done.why, "certificate"));
	assert_int_equal(json_array_size(list), 0); /* not a byte of it went out */
	json_decref(list);
}

static void a_local_authority(void **state)
{
	struct fixture *f = *state;

	if (!has_tools())
		skip();
	receiver(f, "200");
	make_authority(f, "ours", "localhost");
	make_authority(f, "other", "localhost");
	char *endpoint = tunnel(f, "ours");

	expect_refused(f, endpoint); /* nobody knows it */
	trust(f, "other");
	expect_refused(f, endpoint); /* the wrong one */
	trust(f, "ours");
	assert_int_equal(post_to(f, endpoint).status, 200);
	json_t *list = postroom_requests(&f->room, 0);

	assert_int_equal(json_array_size(list), 1);
	json_decref(list);
	free(endpoint);
}

static void a_folder_of_authorities(void **state)
{
	struct fixture *f = *state;

	if (!has_tools())
		skip();
	receiver(f, "200");
	make_authority(f, "ours", "localhost");
	run(f, "mkdir trusted && cp ours.pem trusted/ && openssl rehash trusted");
	char *endpoint = tunnel(f, "ours");
	char *folder = must_print("%s/trusted", f->room.folder);

	expect_refused(f, endpoint);
	setenv("SSL_CERT_DIR", folder, 1);
	assert_int_equal(post_to(f, endpoint).status, 200);
	free(folder);
	free(endpoint);
}

static void another_hosts_certificate(void **state)
{
	struct fixture *f = *state;

	if (!has_tools())
		skip();
	receiver(f, "200");
	make_authority(f, "ours", "elsewhere.example");
	trust(f, "ours");
	char *endpoint = tunnel(f, "ours");

	expect_refused(f, endpoint);
	free(endpoint);
}

#define test(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
		test(head_body_and_signature),
		test(the_status_decides),
		test(no_redirect_is_followed),
		test(when_to_come_again),
		test(other_protocols_are_none),
		test(a_strange_status_is_none),
		test(without_end),
		test(a_local_authority),
		test(a_folder_of_authorities),
		test(another_hosts_certificate),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
