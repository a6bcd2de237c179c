"""Settings, from the environment as ``env`` reads it. Defaults are the embedded mode."""

from csp.constants import NONE, SELF

from fleet.project import env

ENV = env.Environment.read()
BASE_DIR = env.ROOT
VAR_DIR = ENV.var

SECRET_KEY = ENV.secret_key
DEBUG = False
ALLOWED_HOSTS = list(ENV.hosts)
STAYWARD_PRODUCTION = ENV.production
STAYWARD_HAS_SECRET_KEY = bool(ENV.secret_key)
STAYWARD_ENVIRONMENT = ENV  # For the processes that `serve` starts.
STAYWARD_ONLY_HERE = ENV.only_here
STAYWARD_PORT = ENV.port
STAYWARD_BACKUPS = ENV.backups  # Daily copies of the database that are kept; 0 for none.

INSTALLED_APPS = [
    "fleet.apps.FleetConfig",
    "inspections.apps.InspectionsConfig",
    "forecasting.apps.ForecastingConfig",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "django.contrib.humanize",
    "django_tables2",
    "django_filters",
    "allauth",
    "allauth.account",
    "allauth.mfa",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "csp.middleware.CSPMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "allauth.account.middleware.AccountMiddleware",
]

ROOT_URLCONF = "fleet.project.urls"
WSGI_APPLICATION = "fleet.project.wsgi.application"

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "fleet.context.current_fleet",
            ],
            "builtins": ["fleet.templatetags.wording"],
        },
    },
]

DATABASES = {"default": env.database(ENV.database, VAR_DIR)}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

AUTHENTICATION_BACKENDS = [
    "django.contrib.auth.backends.ModelBackend",
    "allauth.account.auth_backends.AuthenticationBackend",
]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": f"django.contrib.auth.password_validation.{name}"}
    for name in ("UserAttributeSimilarityValidator", "MinimumLengthValidator",
                 "CommonPasswordValidator")
]  # fmt: skip
LOGIN_URL = "account_login"
LOGIN_REDIRECT_URL = "home"
ACCOUNT_LOGIN_METHODS = {"email", "username"}
ACCOUNT_SIGNUP_FIELDS = ["email*", "username*", "password1*", "password2*"]
ACCOUNT_EMAIL_VERIFICATION = "none"
ACCOUNT_ADAPTER = "fleet.access.InvitedOnly"
ACCOUNT_LOGOUT_REDIRECT_URL = "account_login"

CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [NONE],
        "script-src": [SELF],
        "style-src": [SELF],
        "img-src": [SELF],
        "font-src": [SELF],
        "connect-src": [SELF],
        "manifest-src": [SELF],
        "form-action": [SELF],
        "base-uri": [NONE],
        "frame-ancestors": [NONE],
    },
}
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = SECURE_SSL_REDIRECT = ENV.https
SECURE_REDIRECT_EXEMPT = [r"^health/$"]  # Asked on the same machine, past the HTTPS in front.
SECURE_HSTS_SECONDS = 31_536_000 if ENV.https else 0
if ENV.https:
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
    CSRF_TRUSTED_ORIGINS = [f"https://{host}" for host in ENV.hosts]

LANGUAGE_CODE = "en-gb"
TIME_ZONE = "UTC"
USE_I18N = True
USE_TZ = True

STATIC_URL = "/static/"
STATIC_ROOT = VAR_DIR / "static"
WHITENOISE_USE_FINDERS = True  # The embedded mode serves without a collectstatic step.

EMAIL_FOLDER = VAR_DIR / "mail"
EMAIL_BACKEND = (
    "django.core.mail.backends.smtp.EmailBackend"
    if ENV.mail
    else "inspections.mail_folder.MailFolder"
)
DEFAULT_FROM_EMAIL = ENV.mail_from
EMAIL_TIMEOUT = 60  # A mail server that says nothing must not keep a round for ever.
STAYWARD_SITE = ENV.site  # What the links in a mail begin with.
globals().update(env.mail_server(ENV.mail) if ENV.mail else {})

CELERY_BROKER_URL = ENV.redis or None
CELERY_TASK_ACKS_LATE = True
CELERY_TASK_REJECT_ON_WORKER_LOST = True
CELERY_WORKER_PREFETCH_MULTIPLIER = 1
CELERY_BROKER_TRANSPORT_OPTIONS = {
    "visibility_timeout": 3600,
    "unacked_restore_throttle": 1,
    "socket_connect_timeout": 5,
}
CELERY_TASK_PUBLISH_RETRY = False  # A page does not wait for a broker that is away: beat rings.
CELERY_TASK_SERIALIZER = "json"
CELERY_ACCEPT_CONTENT = ["json"]
CELERY_TASK_IGNORE_RESULT = True
CELERY_BROKER_CONNECTION_RETRY_ON_STARTUP = True
# The clock is in the database: a tick asks what is due, and two beats ask for nothing twice.
CELERY_BEAT_SCHEDULE = {"tick": {"task": "fleet.tasks.tick", "schedule": 10.0}}
CELERY_BEAT_SCHEDULE_FILENAME = str(VAR_DIR / "celerybeat-schedule")

# Long work by kind of row, and what the clock asks for: told what, done by whom.
STAYWARD_JOBS = {
    "import": "inspections.jobs.write_import",
    "reminders": "inspections.jobs.remind",
    "export": "inspections.jobs.write_export",
    "refresh": "forecasting.jobs.refresh_forecast",
    "summary": "forecasting.jobs.send_summary",
    "plan": "forecasting.jobs.plan_anew",
    "backup": "fleet.jobs.back_up",
    "back_test": "forecasting.jobs.check_past_forecasts",
    "seasons": "forecasting.jobs.plan_the_seasons",
    "yard": "forecasting.jobs.plan_the_yard",
}
STAYWARD_ROUNDS = [
    "inspections.jobs.ask_for_reminders",
    "forecasting.jobs.ask_for_half_sent",
    "fleet.jobs.ask_for_backup",
    "fleet.work.pruning.prune",
    "inspections.photos.keeping.prune_daily",
    "inspections.calendar.entries.keep",
]

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "handlers": {"stderr": {"class": "logging.StreamHandler"}},
    "loggers": {
        "django": {"handlers": ["stderr"], "level": "WARNING", "propagate": False},
        # A page that does not exist is no event; a page that broke is.
        "django.request": {"handlers": ["stderr"], "level": "ERROR", "propagate": False},
    },
}

DJANGO_TABLES2_TEMPLATE = "table.html"
MESSAGE_STORAGE = "django.contrib.messages.storage.session.SessionStorage"
FILE_UPLOAD_HANDLERS = [
    "fleet.spreadsheets.upload_cap.CappedUpload",
    "django.core.files.uploadhandler.MemoryFileUploadHandler",
    "django.core.files.uploadhandler.TemporaryFileUploadHandler",
]
DATA_UPLOAD_MAX_MEMORY_SIZE = 12 * 1024 * 1024
