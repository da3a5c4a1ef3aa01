FROM python:3.11-slim-bookworm

ENV PYTHONDONTWRITEBYTECODE=1 PYTHONUNBUFFERED=1
WORKDIR /app

COPY requirements-scaled.txt .
RUN pip install --no-cache-dir --require-hashes --requirement requirements-scaled.txt

COPY . .
# The secret of this step signs nothing: it only lets the settings load.
RUN ROOFREG_SECRET_KEY=for-this-step-only python manage.py collectstatic --noinput \
    && useradd --system --uid 10001 --home-dir /app roofreg \
    && install --directory --owner roofreg /data

USER roofreg
ENV ROOFREG_DATA_DIR=/data
VOLUME /data
EXPOSE 8000
CMD ["gunicorn", "config.wsgi:application", "--bind=0.0.0.0:8000", "--workers=2", "--graceful-timeout=30"]
